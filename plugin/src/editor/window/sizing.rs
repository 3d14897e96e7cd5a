//! What becomes of a size that the player asks for. The host grants it, refuses it, grants
//! another one or answers late, and the panel is drawn for the size that its window has. Plain
//! values without a window. The panel's thread; `size` imports it.

use crate::params::ZOOMS;
use std::time::{Duration, Instant};

/// Width and height in pixels.
pub type Pixels = [u32; 2];

/// The smallest zoom of a panel in a window that is too small for all of [`ZOOMS`]. At a smaller
/// one no word could be read.
const SMALLEST_ZOOM: f32 = 0.5;
/// How long a host may take to answer. After that only the very size that was asked for is an
/// answer.
const ANSWERS_WITHIN: Duration = Duration::from_secs(2);
/// How long a window may be larger than its parent. A host that grows resizes one of them
/// first.
const CUT_FOR: Duration = Duration::from_millis(400);

/// The largest zoom up to `wanted` at which all of the panel fits into a window of this size.
/// `smallest` is the smallest size of the panel, in points of the zoom, and `scale` the number of
/// pixels in a point of the screen.
#[must_use]
pub fn zoom_that_fits(wanted: f32, smallest: [f32; 2], pixels: Pixels, scale: f64) -> f32 {
    // A pixel is lost where a size is rounded.
    let zoom = |pixels: u32, points: f32| (f64::from(pixels) + 1.0) / (f64::from(points) * scale);
    let [width, height] = pixels;
    let [smallest_width, smallest_height] = smallest;
    let most = zoom(width, smallest_width).min(zoom(height, smallest_height));
    let fits = |zoom: &f32| f64::from(*zoom) <= most && *zoom <= wanted;
    #[expect(clippy::cast_possible_truncation, reason = "a zoom")]
    let between = (most as f32).clamp(SMALLEST_ZOOM, ZOOMS[0]);
    ZOOMS.into_iter().rfind(fits).unwrap_or(between)
}

/// Whether all of the panel fits into a window of this size at any zoom.
#[must_use]
pub fn has_room(smallest: [f32; 2], pixels: Pixels, scale: f64) -> bool {
    let least = f64::from(SMALLEST_ZOOM) * scale;
    let sides = smallest.into_iter().zip(pixels);
    // A pixel is lost where a size is rounded.
    sides
        .map(|(points, pixels)| (f64::from(points) * least, f64::from(pixels) + 1.0))
        .all(|(needed, there)| needed <= there)
}

/// What the host's own function said to a request.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// The size is granted, and the host need not say so again.
    Granted,
    /// The host will give the size, or keep silent.
    Passed,
    /// The host refuses.
    Refused,
}

/// A size that was asked for.
#[derive(Clone, Copy, Debug)]
struct Wish {
    zoom: f32,
    pixels: Pixels,
    since: Instant,
    granted: bool,
    /// Nothing came of it in time.
    lapsed: bool,
    /// The size of the parent at that time, where it is known.
    parent: Option<Pixels>,
}

impl Wish {
    fn is_fresh(&self, now: Instant) -> bool {
        now.saturating_duration_since(self.since) < ANSWERS_WITHIN
    }
}

/// The size of an open window, and the one that is asked for.
#[derive(Debug)]
pub struct Sizing {
    /// What the window has.
    has: Pixels,
    /// What the host has given it.
    given: Pixels,
    wish: Option<Wish>,
    /// Since when the parent cuts the window.
    cut_since: Option<Instant>,
    /// What the window gives itself because of that.
    cut_to: Option<Pixels>,
}

impl Sizing {
    /// A window that has just opened.
    #[must_use]
    pub const fn new(pixels: Pixels) -> Sizing {
        Sizing {
            has: pixels,
            given: pixels,
            wish: None,
            cut_since: None,
            cut_to: None,
        }
    }

    /// The player asks for a size at a zoom. `parent` is the parent's size, where it is known.
    /// Returns whether this is a new question for the host.
    pub fn ask(&mut self, zoom: f32, pixels: Pixels, parent: Option<Pixels>, now: Instant) -> bool {
        let asked = self.wish.filter(|wish| wish.is_fresh(now));
        if asked.is_some_and(|wish| wish.pixels == pixels && (wish.zoom - zoom).abs() < 0.01) {
            return false;
        }
        self.wish = Some(Wish {
            zoom,
            pixels,
            since: now,
            granted: false,
            lapsed: false,
            parent,
        });
        true
    }

    /// The host's function has answered. Returns the zoom that was asked for, if the host
    /// refuses.
    pub fn answer(&mut self, answer: Answer) -> Option<f32> {
        match (answer, &mut self.wish) {
            (Answer::Refused, wish) => wish.take().map(|wish| wish.zoom),
            (Answer::Granted, Some(wish)) => {
                wish.granted = true;
                None
            }
            (Answer::Granted, None) | (Answer::Passed, _) => None,
        }
    }

    /// The zoom that was asked for, once, when nothing has come of it in time.
    pub fn lapse(&mut self, now: Instant) -> Option<f32> {
        let wish = self.wish.as_mut()?;
        if wish.lapsed || wish.is_fresh(now) {
            return None;
        }
        wish.lapsed = true;
        Some(wish.zoom)
    }

    /// The window has this size now. Returns the zoom that was asked for with it, if this is
    /// the answer.
    pub fn take(
        &mut self,
        pixels: Pixels,
        scale: f64,
        smallest: [f32; 2],
        now: Instant,
    ) -> Option<f32> {
        if pixels == self.has {
            return None;
        }
        self.has = pixels;
        self.cut_since = None;
        if self.cut_to.take() != Some(pixels) {
            self.given = pixels;
        }
        let wish = self.wish?;
        let fits = zoom_that_fits(wish.zoom, smallest, pixels, scale);
        let fits = (fits - wish.zoom).abs() < 0.01;
        let answers = pixels == wish.pixels || (wish.is_fresh(now) && fits);
        if answers {
            self.wish = None;
        }
        answers.then_some(wish.zoom)
    }

    /// The size that the window should give itself, if any: the granted one, or what the parent
    /// shows of a window that it cuts.
    pub fn next(&mut self, parent: Option<Pixels>, now: Instant) -> Option<Pixels> {
        if let Some(wish) = self.wish.filter(|wish| wish.is_fresh(now)) {
            // The host's window makes room first, so that nothing is cut in between.
            let has_room = match parent {
                Some(parent) => {
                    let changed = Some(parent) != wish.parent || parent == wish.pixels;
                    covers(parent, wish.pixels) && (wish.granted || changed)
                }
                None => wish.granted,
            };
            self.cut_since = None;
            return has_room.then_some(wish.pixels);
        }
        let shown = least(self.given, parent?);
        if shown == self.has {
            self.cut_since = None;
            return None;
        }
        let since = *self.cut_since.get_or_insert(now);
        let long = now.saturating_duration_since(since) >= CUT_FOR;
        self.cut_to = long.then_some(shown);
        self.cut_to
    }

    /// Whether the host has been asked and may still answer.
    #[must_use]
    pub fn asks(&self, now: Instant) -> bool {
        self.wish.is_some_and(|wish| wish.is_fresh(now))
    }

    /// Whether something may be about to change, so that it is worth looking again soon.
    #[must_use]
    pub fn is_waiting(&self, now: Instant) -> bool {
        self.asks(now) || self.cut_since.is_some() || self.has != self.given
    }
}

fn covers(parent: Pixels, pixels: Pixels) -> bool {
    least(parent, pixels) == pixels
}

fn least([width, height]: Pixels, [other_width, other_height]: Pixels) -> Pixels {
    [width.min(other_width), height.min(other_height)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::SMALLEST_PANEL;

    const PLAIN: Pixels = [960, 760];
    const LARGER: Pixels = [1_200, 950];

    fn seconds(seconds: f64) -> Duration {
        Duration::from_secs_f64(seconds)
    }

    #[test]
    fn a_zoom_fits_if_all_of_the_panel_does() {
        assert_eq!(zoom_that_fits(1.0, SMALLEST_PANEL, PLAIN, 1.0), 1.0);
        assert_eq!(zoom_that_fits(1.25, SMALLEST_PANEL, PLAIN, 1.0), 1.0);
        assert_eq!(zoom_that_fits(2.0, SMALLEST_PANEL, LARGER, 1.0), 1.25);
        assert_eq!(zoom_that_fits(0.75, SMALLEST_PANEL, LARGER, 1.0), 0.75);
        assert_eq!(zoom_that_fits(1.0, SMALLEST_PANEL, [840, 704], 1.0), 1.0);
        assert_eq!(zoom_that_fits(1.0, SMALLEST_PANEL, [838, 704], 1.0), 0.75);
        // Twice as many pixels in a point leave half of the points.
        assert_eq!(
            zoom_that_fits(1.0, SMALLEST_PANEL, [1_680, 1_408], 2.0),
            1.0
        );
        let between = zoom_that_fits(1.0, SMALLEST_PANEL, [503, 800], 1.0);
        assert!((between - 0.6).abs() < 0.001, "{between}");
        assert_eq!(
            zoom_that_fits(1.0, SMALLEST_PANEL, [1, 1], 1.0),
            SMALLEST_ZOOM
        );
    }

    #[test]
    fn a_panel_has_room_if_it_fits_at_the_smallest_zoom() {
        assert!(has_room(SMALLEST_PANEL, [420, 352], 1.0));
        assert!(!has_room(SMALLEST_PANEL, [418, 352], 1.0));
        assert!(!has_room(SMALLEST_PANEL, [420, 350], 1.0));
        assert!(has_room(SMALLEST_PANEL, [840, 704], 2.0));
        assert!(!has_room(SMALLEST_PANEL, [560, 312], 1.0));
    }

    #[test]
    fn a_host_that_calls_back_gives_the_zoom_with_the_size() {
        let now = Instant::now();
        let mut sizing = Sizing::new(PLAIN);
        sizing.ask(1.25, LARGER, Some(PLAIN), now);
        assert_eq!(sizing.next(Some(PLAIN), now), None, "nothing before it");
        assert_eq!(sizing.take(LARGER, 1.0, SMALLEST_PANEL, now), Some(1.25));
        assert!(!sizing.is_waiting(now));
        assert_eq!(sizing.take(LARGER, 1.0, SMALLEST_PANEL, now), None, "once");
    }

    #[test]
    fn a_refusal_leaves_everything_as_it_was() {
        let now = Instant::now();
        let mut sizing = Sizing::new(PLAIN);
        sizing.ask(1.25, LARGER, Some(PLAIN), now);
        assert_eq!(sizing.answer(Answer::Refused), Some(1.25));
        assert_eq!(sizing.lapse(now + seconds(2.1)), None, "told already");
        assert!(!sizing.is_waiting(now));
        assert_eq!(sizing.next(Some([2_000, 2_000]), now), None);
        assert_eq!(sizing.take(LARGER, 1.0, SMALLEST_PANEL, now), None);
    }

    #[test]
    fn a_host_that_keeps_silent_has_refused() {
        let now = Instant::now();
        let mut sizing = Sizing::new(PLAIN);
        sizing.ask(1.25, LARGER, Some(PLAIN), now);
        sizing.answer(Answer::Passed);
        assert!(sizing.is_waiting(now + seconds(1.9)));
        assert_eq!(sizing.lapse(now + seconds(1.9)), None);
        let late = now + seconds(2.1);
        assert_eq!(sizing.lapse(late), Some(1.25));
        assert_eq!(sizing.lapse(late), None, "once");
        assert!(!sizing.is_waiting(late));
        // A size of the host's own later on is no answer, but the very size is.
        assert_eq!(sizing.take([1_100, 900], 1.0, SMALLEST_PANEL, late), None);
        assert_eq!(sizing.take(LARGER, 1.0, SMALLEST_PANEL, late), Some(1.25));
    }

    #[test]
    fn a_granted_size_is_taken_when_the_parent_has_room() {
        let now = Instant::now();
        let mut sizing = Sizing::new(PLAIN);
        sizing.ask(1.25, LARGER, Some(PLAIN), now);
        assert_eq!(sizing.next(Some(PLAIN), now), None);
        sizing.answer(Answer::Granted);
        assert_eq!(sizing.next(Some(PLAIN), now), None, "no room yet");
        assert_eq!(sizing.next(Some(LARGER), now), Some(LARGER));
        assert_eq!(sizing.take(LARGER, 1.0, SMALLEST_PANEL, now), Some(1.25));

        // The parent never grows: the grant was none.
        sizing.ask(1.5, [1_440, 1_140], Some(LARGER), now);
        sizing.answer(Answer::Granted);
        let late = now + seconds(2.1);
        assert_eq!(sizing.next(Some(LARGER), late), None);
        assert!(!sizing.is_waiting(late));
    }

    #[test]
    fn a_parent_that_grew_without_a_word_is_an_answer() {
        let now = Instant::now();
        let mut sizing = Sizing::new(PLAIN);
        sizing.ask(1.25, LARGER, Some(PLAIN), now);
        sizing.answer(Answer::Passed);
        assert_eq!(sizing.next(Some(LARGER), now), Some(LARGER));
        // A parent that was large before says nothing.
        let mut sizing = Sizing::new(PLAIN);
        sizing.ask(0.75, [720, 570], Some(PLAIN), now);
        sizing.answer(Answer::Passed);
        assert_eq!(sizing.next(Some(PLAIN), now), None);
        // But one that has the very size has room for it.
        let mut sizing = Sizing::new(LARGER);
        assert!(sizing.ask(1.0, PLAIN, Some(PLAIN), now));
        assert_eq!(sizing.next(Some(PLAIN), now), Some(PLAIN));
        assert!(!sizing.ask(1.0, PLAIN, Some(LARGER), now), "asked already");
        assert!(sizing.ask(1.0, [970, 770], Some(LARGER), now));
    }

    #[test]
    fn another_size_that_the_host_gives_is_taken_if_the_zoom_fits() {
        let now = Instant::now();
        let mut sizing = Sizing::new(PLAIN);
        sizing.ask(1.25, LARGER, None, now);
        assert_eq!(
            sizing.take([1_150, 900], 1.0, SMALLEST_PANEL, now),
            Some(1.25)
        );
        sizing.ask(2.0, [1_920, 1_520], None, now);
        assert_eq!(sizing.take([1_400, 1_000], 1.0, SMALLEST_PANEL, now), None);
    }

    #[test]
    fn what_a_parent_cuts_is_given_up_after_a_moment_and_comes_back() {
        let now = Instant::now();
        let mut sizing = Sizing::new(LARGER);
        assert_eq!(sizing.next(Some(LARGER), now), None);
        assert_eq!(sizing.next(Some(PLAIN), now), None, "it may grow yet");
        assert!(sizing.is_waiting(now));
        let later = now + seconds(0.5);
        assert_eq!(sizing.next(Some(PLAIN), later), Some(PLAIN));
        sizing.take(PLAIN, 1.0, SMALLEST_PANEL, later);
        assert!(sizing.is_waiting(later), "the parent may grow");
        assert_eq!(sizing.next(Some(PLAIN), later), None);
        let end = later + seconds(0.5);
        assert_eq!(sizing.next(Some([1_300, 1_000]), later), None);
        assert_eq!(sizing.next(Some([1_300, 1_000]), end), Some(LARGER));
        sizing.take(LARGER, 1.0, SMALLEST_PANEL, end);
        assert!(!sizing.is_waiting(end));
    }
}
