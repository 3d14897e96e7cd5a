//! Words for positions, forms and textures. Imports `voicing` and `shape`.

use crate::shape::Texture;
use crate::voicing::{Form, Position};
use std::fmt;

impl Position {
    /// The slot that is lowest. None for fourths and for notes as played.
    #[must_use]
    pub const fn lowest(self) -> Option<&'static str> {
        match self {
            Position::Third => Some("third"),
            Position::Seventh => Some("seventh"),
            Position::Fifth => Some("fifth"),
            Position::Ninth => Some("ninth"),
            Position::Fourths | Position::AsPlayed => None,
        }
    }
}

impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Form::A => "A",
            Form::B => "B",
            Form::Fourths => "fourths",
            Form::OnFifth => "on the fifth",
            Form::OnNinth => "on the ninth",
            Form::AsPlayed => "as played",
        })
    }
}

impl Texture {
    /// The name in plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Texture::GuideTones => "guide tones",
            Texture::ThreeNotes => "three notes",
            Texture::FourNotes => "four notes",
            Texture::Fourths => "quartal",
            Texture::Open => "drop 2",
            Texture::TwoHands => "two hands",
            Texture::UpperStructure => "upper structure",
            Texture::AnyRotation => "all inversions",
        }
    }
}
