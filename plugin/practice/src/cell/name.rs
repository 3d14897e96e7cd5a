//! The names of cells, as musicians write chords: `G7(b9,13), third`. Imports its head file.

use super::Cell;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::Key;
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::NoteName;
use guidehand_theory::voicing::Position;
use std::fmt;

/// The positions by their names.
const POSITIONS: [(Position, &str); 6] = [
    (Position::Third, "third"),
    (Position::Seventh, "seventh"),
    (Position::Fifth, "fifth"),
    (Position::Ninth, "ninth"),
    (Position::Fourths, "fourths"),
    (Position::AsPlayed, "as played"),
];

impl fmt::Display for Cell {
    /// The chord, and which slot is lowest: `Dm7, third`. A dressed dominant has its degrees in brackets:
    /// `G7(b9,13), seventh`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let root = Key::C_MAJOR.name(self.root);
        write!(f, "{root}{}", self.family.name())?;
        if !self.dressing.is_empty() {
            let degrees: Vec<&str> = self.dressing.iter().map(Degree::name).collect();
            write!(f, "({})", degrees.join(","))?;
        }
        let name = |(_, name)| name;
        let position = POSITIONS.into_iter().find(|(one, _)| *one == self.position);
        write!(f, ", {}", position.map_or("", name))
    }
}

impl Cell {
    /// The cell of a name. The root may be spelled either way.
    ///
    /// # Errors
    /// What is wrong with the name.
    pub fn named(text: &str) -> Result<Cell, String> {
        let example = "expected a chord and its position, such as \"G7(b9,13), third\"";
        let (chord, position) = text
            .rsplit_once(", ")
            .ok_or_else(|| format!("{text:?}: {example}"))?;
        let position = POSITIONS
            .into_iter()
            .find_map(|(one, name)| (name == position).then_some(one))
            .ok_or_else(|| {
                let names = POSITIONS.map(|(_, name)| name).join(", ");
                format!("there is no position {position:?}: expected one of {names}")
            })?;
        let (root, rest) = NoteName::read(chord)
            .ok_or_else(|| format!("{chord:?} does not begin with a root: {example}"))?;
        let (family, dressing) = family(rest).ok_or_else(|| {
            let names = ShapeFamily::ALL.map(ShapeFamily::name).join(", ");
            format!("there is no family {rest:?}: expected one of {names}, and degrees in brackets")
        })?;
        Ok(Cell {
            family,
            dressing,
            root: root.class(),
            position,
        })
    }
}

/// A family and the degrees in brackets after it.
fn family(text: &str) -> Option<(ShapeFamily, DegreeSet)> {
    if let Some(family) = ShapeFamily::from_name(text) {
        return Some((family, DegreeSet::EMPTY));
    }
    let (family, degrees) = text.strip_suffix(')')?.rsplit_once('(')?;
    let family = ShapeFamily::from_name(family)?;
    let degrees: Option<DegreeSet> = degrees.split(',').map(Degree::from_name).collect();
    Some((family, degrees?))
}
