//! Fonts, sizes and the look in force. The panel's thread; every region and widget
//! imports it.

use crate::editor::palette::{self, Palette};
use crate::params::{Look, SavedPanel};
use egui::{
    CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Stroke, TextStyle, Theme,
    ThemePreference, Vec2, Visuals, vec2,
};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The colours in force.
#[must_use]
pub fn palette(ctx: &egui::Context) -> &'static Palette {
    of_theme(ctx.theme())
}

/// The colours of a look.
#[must_use]
pub const fn of_theme(theme: Theme) -> &'static Palette {
    match theme {
        Theme::Dark => &palette::DARK,
        Theme::Light => &palette::LIGHT,
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

/// How large text and controls are in a part of the panel, as a factor of their plain size.
#[must_use]
pub fn print(ui: &egui::Ui) -> f32 {
    ui.spacing().interact_size.y / CONTROL
}

/// Sets how large text and controls are in a part of the panel, as a factor of their plain size.
pub fn set_print(ui: &mut egui::Ui, print: f32) {
    let style = ui.style_mut();
    style.text_styles = text_styles(print);
    let spacing = &mut style.spacing;
    spacing.item_spacing = ITEM_SPACING * print;
    spacing.button_padding = BUTTON_PADDING * print;
    spacing.interact_size = INTERACT_SIZE * print;
}

fn text_styles(print: f32) -> BTreeMap<TextStyle, FontId> {
    [
        (TextStyle::Small, text(SMALL * print)),
        (TextStyle::Body, text(TEXT * print)),
        (TextStyle::Button, text(TEXT * print)),
        (TextStyle::Heading, bold(TEXT * print)),
        (TextStyle::Monospace, mono(CHART_TEXT * print)),
    ]
    .into()
}

const ITEM_SPACING: Vec2 = vec2(6.0, 6.0);
const BUTTON_PADDING: Vec2 = vec2(8.0, 3.0);
const INTERACT_SIZE: Vec2 = vec2(36.0, CONTROL);

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

/// Dresses a window. It follows the system where that is told, and is dark
/// otherwise, until [`follow`] says another thing.
pub fn install(ctx: &egui::Context) {
    ctx.set_fonts(fonts());
    ctx.options_mut(|options| {
        options.fallback_theme = Theme::Dark;
        options.zoom_with_keyboard = false;
    });
    ctx.set_theme(ThemePreference::System);
    for theme in [Theme::Dark, Theme::Light] {
        ctx.style_mut_of(theme, |style| style.visuals = visuals(theme));
    }
    ctx.all_styles_mut(|style| {
        style.animation_time = 0.0;
        // A cursor that blinks would keep the panel awake.
        style.visuals.text_cursor.blink = false;
        style.drag_value_text_style = TextStyle::Button;
        style.text_styles = text_styles(1.0);
        let spacing = &mut style.spacing;
        spacing.item_spacing = ITEM_SPACING;
        spacing.button_padding = BUTTON_PADDING;
        spacing.interact_size = INTERACT_SIZE;
        spacing.combo_width = 0.0;
        spacing.slider_width = 72.0;
        spacing.scroll = egui::style::ScrollStyle::thin();
    });
}

/// Takes the saved look and zoom where they are others than those in force.
pub fn follow(ctx: &egui::Context, panel: &SavedPanel) {
    let theme = match panel.look {
        Look::Host => ThemePreference::System,
        Look::Dark => ThemePreference::Dark,
        Look::Light => ThemePreference::Light,
    };
    if ctx.options(|options| options.theme_preference) != theme {
        ctx.set_theme(theme);
    }
    if (ctx.zoom_factor() - panel.zoom).abs() > 0.01 {
        ctx.set_zoom_factor(panel.zoom);
    }
}

fn visuals(theme: Theme) -> Visuals {
    let palette = of_theme(theme);
    let mut visuals = theme.default_visuals();
    visuals.panel_fill = palette.ground;
    visuals.window_fill = palette.surface;
    visuals.window_stroke = Stroke::new(1.0, palette.line);
    visuals.extreme_bg_color = palette.surface;
    visuals.text_edit_bg_color = Some(palette.surface);
    visuals.faint_bg_color = palette.surface;
    visuals.selection.bg_fill = palette.selected;
    visuals.selection.stroke = Stroke::new(1.0, palette.bright);
    visuals.text_cursor.stroke = Stroke::new(2.0, palette.bright);
    visuals.error_fg_color = palette.wrong;
    let corners = CornerRadius::same(4);
    let widgets = &mut visuals.widgets;
    for (state, fill, colour) in [
        (&mut widgets.noninteractive, palette.surface, palette.soft),
        (&mut widgets.inactive, palette.raised, palette.bright),
        (&mut widgets.hovered, palette.lifted, palette.bright),
        (&mut widgets.active, palette.lifted, palette.bright),
        (&mut widgets.open, palette.lifted, palette.bright),
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
