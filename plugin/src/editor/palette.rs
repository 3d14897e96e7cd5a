//! The colours of the light look and of the dark one, with one for each kind of note.
//! The panel's thread; `theme` hands it to the regions.

use crate::editor::view::NoteKind;
use egui::Color32;

const fn rgb(hex: u32) -> Color32 {
    let [_, red, green, blue] = hex.to_be_bytes();
    Color32::from_rgb(red, green, blue)
}

/// Every colour of a look.
#[derive(Debug)]
pub struct Palette {
    /// Behind everything.
    pub ground: Color32,
    /// Behind a region, and behind text that is edited.
    pub surface: Color32,
    /// A control at rest.
    pub raised: Color32,
    /// A control under the pointer.
    pub lifted: Color32,
    /// Behind text that is selected.
    pub selected: Color32,
    /// Hairlines.
    pub line: Color32,
    /// The first thing to read.
    pub bright: Color32,
    /// The second thing to read, and the names of controls.
    pub soft: Color32,
    /// What is past, or does not apply.
    pub faint: Color32,
    /// Text on `bright` and on the colours of notes.
    pub ink: Color32,
    /// What is wrong.
    pub wrong: Color32,
    /// What is right.
    pub right: Color32,
    /// A white key that the register holds.
    pub white_key: Color32,
    /// A white key outside the register.
    pub white_key_outside: Color32,
    /// The name of a white key that the register holds.
    pub on_white_key: Color32,
    /// The name of a white key outside the register.
    pub on_white_key_outside: Color32,
    /// A black key that the register holds.
    pub black_key: Color32,
    /// A black key outside the register.
    pub black_key_outside: Color32,
    /// Between keys.
    pub key_gap: Color32,
    /// Where the left hand's keys end.
    pub split: Color32,
    /// The melody, and the chord under it.
    pub melody: Color32,
    /// Around what has the keyboard's focus.
    pub focus: Color32,
    guide: Color32,
    chord_tone: Color32,
    natural: Color32,
    altered: Color32,
    bass: Color32,
}

impl Palette {
    /// The colour of a kind of note.
    #[must_use]
    pub const fn of_kind(&self, kind: NoteKind) -> Color32 {
        match kind {
            NoteKind::Guide => self.guide,
            NoteKind::ChordTone => self.chord_tone,
            NoteKind::Natural => self.natural,
            NoteKind::Altered => self.altered,
            NoteKind::Bass => self.bass,
        }
    }
}

/// Ivory on ebony.
pub static DARK: Palette = Palette {
    ground: rgb(0x17_1614),
    surface: rgb(0x21_1f1c),
    raised: rgb(0x2d_2a26),
    lifted: rgb(0x3a_3631),
    selected: rgb(0x42_3d36),
    line: rgb(0x4a_453e),
    bright: rgb(0xf1_eadc),
    soft: rgb(0xb9_b0a0),
    faint: rgb(0x94_8b7c),
    ink: rgb(0x17_1614),
    wrong: rgb(0xff_8577),
    right: rgb(0xa8_d066),
    white_key: rgb(0xd8_d0c1),
    white_key_outside: rgb(0xa3_9b8c),
    on_white_key: rgb(0x17_1614),
    on_white_key_outside: rgb(0x17_1614),
    black_key: rgb(0x2b_2824),
    black_key_outside: rgb(0x4d_4841),
    key_gap: rgb(0x17_1614),
    split: rgb(0xcf_a6e6),
    melody: rgb(0xff_8fc8),
    focus: rgb(0xf1_eadc),
    guide: rgb(0xee_bb55),
    chord_tone: rgb(0xf1_eadc),
    natural: rgb(0x6f_cbb6),
    altered: rgb(0xf7_9274),
    bass: rgb(0x9d_b8ea),
};

/// Ebony on ivory.
pub static LIGHT: Palette = Palette {
    ground: rgb(0xf2_ede2),
    surface: rgb(0xfb_f8f1),
    raised: rgb(0xe3_dbcb),
    lifted: rgb(0xd8_ceba),
    selected: rgb(0xdd_d2bb),
    line: rgb(0xc8_bda9),
    bright: rgb(0x25_211b),
    soft: rgb(0x51_4a3f),
    faint: rgb(0x68_6053),
    ink: rgb(0xfc_f9f2),
    wrong: rgb(0xae_2218),
    right: rgb(0x42_6a00),
    white_key: rgb(0xff_fdf8),
    white_key_outside: rgb(0xe6_dece),
    on_white_key: rgb(0x51_4a3f),
    on_white_key_outside: rgb(0x51_4a3f),
    black_key: rgb(0x3a_352e),
    black_key_outside: rgb(0x7d_7466),
    key_gap: rgb(0xb5_aa96),
    split: rgb(0x78_3a9c),
    melody: rgb(0x9c_1f74),
    focus: rgb(0x25_211b),
    guide: rgb(0x84_5500),
    chord_tone: rgb(0x5f_5648),
    natural: rgb(0x0b_6a59),
    altered: rgb(0xac_3710),
    bass: rgb(0x2c_57ab),
};

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast after WCAG 2.1.
    fn luminance(colour: Color32) -> f64 {
        let [red, green, blue, _] = colour.to_array().map(|channel| {
            let part = f64::from(channel) / 255.0;
            if part <= 0.04045 {
                part / 12.92
            } else {
                ((part + 0.055) / 1.055).powf(2.4)
            }
        });
        0.2126 * red + 0.7152 * green + 0.0722 * blue
    }

    fn contrast(a: Color32, b: Color32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    fn pairs(p: &Palette) -> Vec<(Color32, Color32)> {
        let behind = [p.ground, p.surface, p.raised, p.lifted];
        let mut pairs = vec![
            (p.bright, p.selected),
            (p.faint, p.ground),
            (p.faint, p.surface),
            (p.wrong, p.ground),
            (p.wrong, p.surface),
            (p.wrong, p.selected),
            (p.ink, p.bright),
            (p.ink, p.wrong),
            (p.ink, p.right),
            (p.ink, p.soft),
            (p.right, p.ground),
            (p.right, p.surface),
            (p.on_white_key, p.white_key),
            (p.on_white_key_outside, p.white_key_outside),
            (p.split, p.ground),
            (p.melody, p.ground),
            (p.ink, p.melody),
        ];
        for behind in behind {
            pairs.push((p.bright, behind));
            pairs.push((p.soft, behind));
        }
        for kind in NoteKind::ALL {
            let colour = p.of_kind(kind);
            pairs.extend([(colour, p.ground), (colour, p.surface), (p.ink, colour)]);
        }
        pairs
    }

    #[test]
    fn all_text_stands_out() {
        for (look, palette) in [("dark", &DARK), ("light", &LIGHT)] {
            for (text, behind) in pairs(palette) {
                let contrast = contrast(text, behind);
                assert!(
                    contrast >= 4.5,
                    "{look}: {text:?} on {behind:?}: {contrast:.2}"
                );
            }
        }
    }

    /// Large text and the marks of keys: 3 : 1 (WCAG 2.2, 1.4.3 and 1.4.11).
    #[test]
    fn marks_stand_out_from_their_keys() {
        for (look, p) in [("dark", &DARK), ("light", &LIGHT)] {
            let white = [p.white_key, p.white_key_outside];
            let black = [p.black_key, p.black_key_outside];
            let mut pairs: Vec<(Color32, Color32)> = Vec::new();
            for kind in NoteKind::ALL {
                // The label on its mark, and the mark on a key in its colour.
                pairs.push((p.of_kind(kind), p.ink));
            }
            for (white, black) in white.into_iter().zip(black) {
                pairs.push((white, black));
            }
            for key in white {
                pairs.push((key, p.on_white_key));
            }
            pairs.push((p.bright, p.raised));
            for (a, b) in pairs {
                let contrast = contrast(a, b);
                assert!(contrast >= 3.0, "{look}: {a:?} on {b:?}: {contrast:.2}");
            }
        }
    }

    #[test]
    fn contrast_is_measured_right() {
        assert!((contrast(Color32::WHITE, Color32::BLACK) - 21.0).abs() < 1e-9);
        let grey = Color32::from_gray(0x76);
        assert!((contrast(grey, Color32::WHITE) - 4.54).abs() < 0.01);
    }

    #[test]
    fn kinds_differ_in_colour() {
        for palette in [&DARK, &LIGHT] {
            for a in NoteKind::ALL {
                for b in NoteKind::ALL {
                    let same = palette.of_kind(a) == palette.of_kind(b);
                    assert!(a == b || !same, "{a:?} {b:?}");
                }
            }
        }
    }
}
