//! The panel as it is saved: its size, its zoom, its look and its switches. The host's main thread and the
//! panel use it; the audio thread never does. Imports `bridge`; `params` and `editor`
//! import it.

use crate::document::Unknown;
use nice_plug::params::persist::PersistentField;
use serde::{Deserialize, Serialize};
use std::ops::Not;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The size of the window when it first opens, in points of its zoom.
pub const PANEL_SIZE: [f32; 2] = [960.0, 760.0];
/// The smallest size at which everything fits, in points of its zoom.
pub const SMALLEST_PANEL: [f32; 2] = [840.0, 704.0];
/// The same in large print.
pub const SMALLEST_IN_LARGE_PRINT: [f32; 2] = [840.0, 800.0];
/// The size of the small view when it first opens, in points of its zoom.
pub const SMALL_SIZE: [f32; 2] = [560.0, 312.0];
/// The smallest size of the small view, in points of its zoom.
pub const SMALLEST_SMALL: [f32; 2] = [480.0, 260.0];
/// The same in large print.
pub const SMALLEST_SMALL_IN_LARGE_PRINT: [f32; 2] = [560.0, 312.0];
/// The largest size that is taken from a saved state, in points of its zoom.
const LARGEST_PANEL: [f32; 2] = [4096.0, 4096.0];
/// The factors by which the panel can be scaled; 1 is the plain size.
pub const ZOOMS: [f32; 5] = [0.75, 1.0, 1.25, 1.5, 2.0];

/// Light or dark.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Look {
    /// Dark, by the user's choice.
    Dark,
    /// Light, by the user's choice.
    Light,
    /// The look of the host or the system where it is known, and otherwise dark.
    #[default]
    #[serde(other)]
    Host,
}

/// How much the panel shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PanelView {
    /// The chord in force, its keys, its tensions and its scale.
    Small,
    /// The same, and a page to work on.
    #[default]
    #[serde(other)]
    Full,
}

/// The panel as it is saved. A missing value is the default, and what stands as at first is not
/// saved.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SavedPanel {
    /// Of the full view, in points of its zoom.
    pub width: f32,
    /// Of the full view, in points of its zoom.
    pub height: f32,
    /// One of [`ZOOMS`].
    pub zoom: f32,
    /// Light or dark.
    pub look: Look,
    /// The view that is open.
    #[serde(skip_serializing_if = "is_first")]
    pub view: PanelView,
    /// The size of the small view, in points of its zoom.
    #[serde(skip_serializing_if = "is_first_size")]
    pub small: [f32; 2],
    /// What is read from afar is larger.
    #[serde(skip_serializing_if = "Not::not")]
    pub large_print: bool,
    /// Someone has pressed a tension, and need not be told of it. A state without this field was
    /// saved by someone who knows the panel.
    #[serde(default = "known", skip_serializing_if = "is_on")]
    pub knows_tensions: bool,
    /// Someone has worked on the chart, and need not be told of it.
    #[serde(default = "known", skip_serializing_if = "is_on")]
    pub knows_chart: bool,
    /// The chord in hand stays on show while the song plays.
    #[serde(skip_serializing_if = "Not::not")]
    pub stays: bool,
    /// A chord that is taken in hand is heard.
    #[serde(skip_serializing_if = "is_on")]
    pub sounds: bool,
    /// The keyboard shows the scale.
    #[serde(skip_serializing_if = "Not::not")]
    pub scale_on_keys: bool,
}

const fn known() -> bool {
    true
}

fn is_first<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

fn is_first_size(size: &[f32; 2]) -> bool {
    *size == SMALL_SIZE
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands over a reference"
)]
const fn is_on(switch: &bool) -> bool {
    *switch
}

impl Default for SavedPanel {
    fn default() -> Self {
        let [width, height] = PANEL_SIZE;
        SavedPanel {
            width,
            height,
            zoom: 1.0,
            look: Look::default(),
            view: PanelView::default(),
            small: SMALL_SIZE,
            large_print: false,
            knows_tensions: false,
            knows_chart: false,
            stays: false,
            sounds: true,
            scale_on_keys: false,
        }
    }
}

impl SavedPanel {
    /// The size of the view that is open, in points of the zoom.
    #[must_use]
    pub const fn size(&self) -> [f32; 2] {
        match self.view {
            PanelView::Full => [self.width, self.height],
            PanelView::Small => self.small,
        }
    }

    /// The same with another size of the view that is open, in points of the zoom.
    #[must_use]
    pub const fn sized(self, [width, height]: [f32; 2]) -> SavedPanel {
        match self.view {
            PanelView::Full => SavedPanel {
                width,
                height,
                ..self
            },
            PanelView::Small => SavedPanel {
                small: [width, height],
                ..self
            },
        }
    }

    /// The smallest size of the view that is open at which everything fits, in points of the
    /// zoom.
    #[must_use]
    pub const fn smallest(&self) -> [f32; 2] {
        smallest(self.view, self.large_print)
    }

    /// The first size of the view that is open, in points of the zoom.
    #[must_use]
    pub fn first_size(&self) -> [f32; 2] {
        let first = match self.view {
            PanelView::Full => PANEL_SIZE,
            PanelView::Small => SMALL_SIZE,
        };
        larger(first, self.smallest())
    }

    /// The same within the limits: a size between the smallest and the largest, and the
    /// nearest zoom of [`ZOOMS`].
    #[must_use]
    pub fn limited(self) -> SavedPanel {
        let plain = SavedPanel::default();
        let side = |value: f32, plain: f32, least: f32, most: f32| {
            let value = if value.is_finite() { value } else { plain };
            value.clamp(least, most)
        };
        let size = |[width, height]: [f32; 2], [plain_width, plain_height]: [f32; 2], view| {
            let [least_width, least_height] = smallest(view, self.large_print);
            let [most_width, most_height] = LARGEST_PANEL;
            [
                side(width, plain_width, least_width, most_width),
                side(height, plain_height, least_height, most_height),
            ]
        };
        let full = [self.width, self.height];
        let [width, height] = size(full, [plain.width, plain.height], PanelView::Full);
        let small = size(self.small, plain.small, PanelView::Small);
        let wanted = if self.zoom.is_finite() {
            self.zoom
        } else {
            1.0
        };
        let off = |zoom: &f32| (zoom - wanted).abs();
        let nearest = ZOOMS.into_iter().min_by(|a, b| off(a).total_cmp(&off(b)));
        SavedPanel {
            width,
            height,
            small,
            zoom: nearest.unwrap_or(1.0),
            ..self
        }
    }
}

const fn smallest(view: PanelView, large_print: bool) -> [f32; 2] {
    match (view, large_print) {
        (PanelView::Full, false) => SMALLEST_PANEL,
        (PanelView::Full, true) => SMALLEST_IN_LARGE_PRINT,
        (PanelView::Small, false) => SMALLEST_SMALL,
        (PanelView::Small, true) => SMALLEST_SMALL_IN_LARGE_PRINT,
    }
}

const fn larger([width, height]: [f32; 2], [other_width, other_height]: [f32; 2]) -> [f32; 2] {
    [width.max(other_width), height.max(other_height)]
}

/// The saved panel, with what a later version of the plugin has saved in the same field.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PanelField {
    #[serde(flatten)]
    panel: SavedPanel,
    #[serde(flatten)]
    later: Unknown,
}

impl From<SavedPanel> for PanelField {
    fn from(panel: SavedPanel) -> PanelField {
        PanelField {
            panel,
            ..PanelField::default()
        }
    }
}

/// The saved panel, shared by the host and the open window.
#[derive(Debug, Default)]
pub struct PanelCell(Mutex<Inner>);

#[derive(Debug, Default)]
struct Inner {
    saved: PanelField,
    loads: u32,
}

impl PanelCell {
    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The panel in force.
    #[must_use]
    pub fn get(&self) -> SavedPanel {
        self.lock().saved.panel
    }

    /// Puts another panel in force, within the limits.
    pub fn put(&self, panel: SavedPanel) {
        self.lock().saved.panel = panel.limited();
    }

    /// How many states have been loaded, so that an open window notices a new one. It wraps.
    #[must_use]
    pub fn loads(&self) -> u32 {
        self.lock().loads
    }
}

impl<'a> PersistentField<'a, PanelField> for PanelCell {
    fn set(&self, mut new_value: PanelField) {
        new_value.panel = new_value.panel.limited();
        let mut inner = self.lock();
        inner.saved = new_value;
        inner.loads = inner.loads.wrapping_add(1);
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&PanelField) -> R,
    {
        f(&self.lock().saved)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(json: &str) -> SavedPanel {
        serde_json::from_str::<SavedPanel>(json).unwrap().limited()
    }

    #[test]
    fn what_is_missing_has_its_default() {
        let knowing = SavedPanel {
            knows_tensions: true,
            knows_chart: true,
            ..SavedPanel::default()
        };
        assert_eq!(read("{}"), knowing);
        let light = read(r#"{"look":"light","later":[1]}"#);
        assert_eq!(light.look, Look::Light);
        assert_eq!(light.width, PANEL_SIZE[0]);
        assert!(light.sounds && !light.stays && !light.scale_on_keys);
        assert_eq!(read(r#"{"look":"sepia"}"#).look, Look::Host);
    }

    #[test]
    fn sizes_and_zooms_keep_to_their_limits() {
        let read = read(r#"{"width":1e30,"height":-3,"zoom":1.4}"#);
        assert_eq!([read.width, read.height], [4096.0, SMALLEST_PANEL[1]]);
        assert_eq!(read.zoom, 1.5);
        let odd = SavedPanel {
            width: f32::NAN,
            height: f32::INFINITY,
            small: [f32::NAN; 2],
            zoom: f32::NAN,
            look: Look::Dark,
            ..SavedPanel::default()
        };
        let plain = SavedPanel {
            look: Look::Dark,
            ..SavedPanel::default()
        };
        assert_eq!(odd.limited(), plain);
    }

    #[test]
    fn each_view_has_a_size_of_its_own() {
        let full = SavedPanel::default();
        let small = SavedPanel {
            view: PanelView::Small,
            ..full
        };
        assert_eq!((full.size(), small.size()), (PANEL_SIZE, SMALL_SIZE));
        let wider = small.sized([700.0, 300.0]);
        assert_eq!(wider.size(), [700.0, 300.0]);
        assert_eq!([wider.width, wider.height], PANEL_SIZE);
        let large = SavedPanel {
            large_print: true,
            ..small.sized(SMALLEST_SMALL)
        };
        assert_eq!(large.limited().size(), SMALLEST_SMALL_IN_LARGE_PRINT);
        assert_eq!(read(r#"{"view":"some"}"#).view, PanelView::Full);
        assert_eq!(
            read(r#"{"view":"small","large_print":true}"#).view,
            PanelView::Small
        );
    }

    #[test]
    fn what_is_saved_comes_back() {
        let cell = PanelCell::default();
        let panel = SavedPanel {
            width: 1000.0,
            height: 820.0,
            small: [600.0, 400.0],
            zoom: 1.25,
            look: Look::Light,
            view: PanelView::Small,
            large_print: true,
            knows_tensions: true,
            knows_chart: false,
            stays: true,
            sounds: false,
            scale_on_keys: true,
        };
        cell.put(panel);
        let json = cell.map(|panel| serde_json::to_string(panel).unwrap());
        let other = PanelCell::default();
        other.set(serde_json::from_str(&json).unwrap());
        assert_eq!((other.get(), other.loads()), (panel, 1));
    }
}
