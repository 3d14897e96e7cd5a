//! Fonts, colours and sizes: ebony and ivory, and one colour for each kind of
//! note. Imports `view` for the kinds; every region imports it.

use crate::editor::view::Kind;
use egui::{
    Color32, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Stroke, TextStyle, Theme,
    Visuals, vec2,
};
use std::sync::Arc;

const fn rgb(hex: u32) -> Color32 {
    let [_, red, green, blue] = hex.to_be_bytes();
    Color32::from_rgb(red, green, blue)
}

/// Behind everything.
pub const GROUND: Color32 = rgb(0x17_1614);
/// Behind a region, and behind text that is edited.
pub const SURFACE: Color32 = rgb(0x21_1f1c);
/// A control at rest.
pub const RAISED: Color32 = rgb(0x2d_2a26);
/// A control under the pointer.
pub const LIFTED: Color32 = rgb(0x3a_3631);
/// Behind text that is selected.
pub const SELECTED: Color32 = rgb(0x42_3d36);
/// Hairlines.
pub const LINE: Color32 = rgb(0x4a_453e);
/// The first thing to read.
pub const IVORY: Color32 = rgb(0xf1_eadc);
/// The second thing to read, and the names of controls.
pub const SOFT: Color32 = rgb(0xb9_b0a0);
/// What is past, or does not apply.
pub const FAINT: Color32 = rgb(0x94_8b7c);
/// Text on ivory and on the colours of notes.
pub const INK: Color32 = rgb(0x17_1614);
/// What is wrong.
pub const WRONG: Color32 = rgb(0xff_8577);
/// Behind the change that sounds, in the chart.
pub const PLAYHEAD: Color32 = rgb(0x5a_4620);

/// A white key that the register holds.
pub const WHITE_KEY: Color32 = rgb(0xc3_bbac);
/// A white key outside the register.
pub const WHITE_KEY_OUTSIDE: Color32 = rgb(0x68_6258);
/// A black key that the register holds.
pub const BLACK_KEY: Color32 = rgb(0x2b_2824);
/// A black key outside the register.
pub const BLACK_KEY_OUTSIDE: Color32 = rgb(0x35_312c);
/// Where the left hand's keys end.
pub const SPLIT: Color32 = rgb(0xcf_a6e6);

/// The colour of a kind of note.
#[must_use]
pub const fn of_kind(kind: Kind) -> Color32 {
    match kind {
        Kind::Guide => rgb(0xee_bb55),
        Kind::ChordTone => IVORY,
        Kind::Natural => rgb(0x6f_cbb6),
        Kind::Altered => rgb(0xf7_9274),
        Kind::Bass => rgb(0x9d_b8ea),
    }
}

/// Text that is read: sentences, names of controls.
#[must_use]
pub const fn text(size: f32) -> FontId {
    FontId::new(size, FontFamily::Proportional)
}

/// Chords, notes and degrees.
#[must_use]
pub fn bold(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name(BOLD.into()))
}

/// The chart's text, whose columns line up.
#[must_use]
pub const fn mono(size: f32) -> FontId {
    FontId::new(size, FontFamily::Monospace)
}

const BOLD: &str = "bold";

/// Text of headings and controls, in points.
pub const TEXT: f32 = 13.5;
/// Text of side remarks, in points.
pub const SMALL: f32 = 12.0;
/// The chart's text, in points.
pub const CHART_TEXT: f32 = 15.0;
/// The height of a control, in points.
pub const CONTROL: f32 = 25.0;

/// The fonts that the panel ships with.
#[must_use]
pub fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::empty();
    for (name, family, bytes) in [
        (
            "text",
            FontFamily::Proportional,
            dejavu::sans_condensed::regular(),
        ),
        (
            BOLD,
            FontFamily::Name(BOLD.into()),
            dejavu::sans_condensed::bold(),
        ),
        ("mono", FontFamily::Monospace, dejavu::sans_mono::regular()),
    ] {
        let data = Arc::new(FontData::from_static(bytes));
        fonts.font_data.insert(name.to_owned(), data);
        fonts.families.insert(family, vec![name.to_owned()]);
    }
    fonts
}

/// Dresses a window. It looks the same whatever the desktop prefers.
pub fn install(ctx: &egui::Context) {
    ctx.set_fonts(fonts());
    ctx.set_theme(Theme::Dark);
    ctx.all_styles_mut(|style| {
        style.visuals = visuals();
        style.animation_time = 0.0;
        style.drag_value_text_style = TextStyle::Button;
        style.text_styles = [
            (TextStyle::Small, text(SMALL)),
            (TextStyle::Body, text(TEXT)),
            (TextStyle::Button, text(TEXT)),
            (TextStyle::Heading, bold(TEXT)),
            (TextStyle::Monospace, mono(CHART_TEXT)),
        ]
        .into();
        let spacing = &mut style.spacing;
        spacing.item_spacing = vec2(6.0, 6.0);
        spacing.button_padding = vec2(8.0, 3.0);
        spacing.interact_size = vec2(36.0, CONTROL);
        spacing.combo_width = 0.0;
        spacing.slider_width = 72.0;
        spacing.scroll = egui::style::ScrollStyle::thin();
    });
}

fn visuals() -> Visuals {
    let mut visuals = Visuals::dark();
    visuals.panel_fill = GROUND;
    visuals.window_fill = SURFACE;
    visuals.window_stroke = Stroke::new(1.0, LINE);
    visuals.extreme_bg_color = SURFACE;
    visuals.text_edit_bg_color = Some(SURFACE);
    visuals.faint_bg_color = SURFACE;
    visuals.selection.bg_fill = SELECTED;
    visuals.selection.stroke = Stroke::new(1.0, IVORY);
    visuals.text_cursor.stroke = Stroke::new(2.0, of_kind(Kind::Guide));
    visuals.error_fg_color = WRONG;
    let corners = CornerRadius::same(4);
    let widgets = &mut visuals.widgets;
    for (state, fill, colour) in [
        (&mut widgets.noninteractive, SURFACE, SOFT),
        (&mut widgets.inactive, RAISED, IVORY),
        (&mut widgets.hovered, LIFTED, IVORY),
        (&mut widgets.active, LIFTED, IVORY),
        (&mut widgets.open, LIFTED, IVORY),
    ] {
        state.bg_fill = fill;
        state.weak_bg_fill = fill;
        state.bg_stroke = Stroke::NONE;
        state.fg_stroke = Stroke::new(1.0, colour);
        state.corner_radius = corners;
        state.expansion = 0.0;
    }
    visuals
}

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

    #[test]
    fn all_text_stands_out() {
        let mut pairs = vec![
            (IVORY, GROUND),
            (IVORY, SURFACE),
            (IVORY, RAISED),
            (IVORY, LIFTED),
            (IVORY, SELECTED),
            (IVORY, PLAYHEAD),
            (SOFT, GROUND),
            (SOFT, SURFACE),
            (SOFT, RAISED),
            (SOFT, LIFTED),
            (FAINT, GROUND),
            (FAINT, SURFACE),
            (WRONG, GROUND),
            (WRONG, SURFACE),
            (WRONG, SELECTED),
            (INK, IVORY),
            (INK, WHITE_KEY),
            (IVORY, WHITE_KEY_OUTSIDE),
            (SPLIT, GROUND),
        ];
        for kind in Kind::ALL {
            pairs.push((of_kind(kind), GROUND));
            pairs.push((of_kind(kind), SURFACE));
            pairs.push((INK, of_kind(kind)));
        }
        for (text, behind) in pairs {
            let contrast = contrast(text, behind);
            assert!(contrast >= 4.5, "{text:?} on {behind:?}: {contrast:.2}");
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
        for a in Kind::ALL {
            for b in Kind::ALL {
                assert!(a == b || of_kind(a) != of_kind(b), "{a:?} {b:?}");
            }
        }
    }
}
