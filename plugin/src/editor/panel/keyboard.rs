//! The keyboard: the notes that sound with their degrees, the keys that are held, where
//! each voice goes next, the scale, the melody with the chord under it, and the register, the split and the notes of the chord in hand
//! to drag. The panel's thread; `panel` imports it.

pub mod answer;
mod handles;
pub mod keys;
mod melody;
mod notes;
mod scale;
mod voices;

use crate::editor::model::action::Actions;
use crate::editor::palette::Palette;
use crate::editor::panel::set::Set;
use crate::editor::panel::view::View;
use crate::editor::theme;
use crate::editor::view::melody::MelodyKey;
use crate::editor::view::{self as words, MarkedNote, NoteKind, moves};
use crate::editor::widgets::mark;
use crate::engine::settings::Settings;
use egui::{Align2, Painter, Rangef, Rect, Ui, pos2, vec2};
use guidehand_theory::pitch::MidiNote;
use keys::{KeyFill, Keys};

/// The height of the band of handles above the keys, in points.
const HANDLES: f32 = 22.0;
/// The height of the legend below everything, in points.
const LEGEND: f32 = 18.0;
/// A key is named where no mark is nearer, in points.
const APART: f32 = 26.0;
/// The height of the lane where voices move, in points.
const LANE: f32 = 30.0;

/// Lays the region out.
pub fn region(ui: &Ui, rect: Rect, set: Set, view: &View, actions: &mut Actions) {
    let (snapshot, settings) = (&view.snapshot, &view.settings);
    let palette = theme::palette(ui.ctx());
    let sounding = words::on_show(snapshot);
    let mut marks = sounding.as_ref().map(words::marks).unwrap_or_default();
    // The bass lies far below, and the symbol names it.
    marks.retain(|mark| mark.kind != NoteKind::Bass || !set.is_tight());
    let verdict = if view.practises() {
        marks = answer::help(view);
        answer::marks(view)
    } else {
        Vec::new()
    };
    let melody = if view.practises() {
        Vec::new()
    } else {
        words::melody::keys(snapshot, settings)
    };
    let moves = if settings.bypass || set.is_tight() || view.practises() {
        Vec::new()
    } else {
        moves::moves(snapshot)
    };
    let rests = snapshot.sounding.is_none() && !view.practises();
    let past = rests || settings.bypass;
    let silent = settings.makes_chords() && !settings.comps && !view.shows_in_hand;
    let sounds = |mark: &MarkedNote| !past && (!silent || mark.kind == NoteKind::Bass);
    let lit: Vec<MarkedNote> = marks.iter().filter(|mark| sounds(mark)).cloned().collect();
    let is_lit = |note: u8| lit.iter().any(|mark| mark.note == note);
    let marked = marks.iter().map(|mark| mark.note);
    let marked = marked.chain(melody.iter().map(|key| key.note));
    let marked: Vec<u8> = marked.chain(verdict.iter().map(|mark| mark.note)).collect();
    let notes = moves.iter().map(|one| one.to);
    let notes: Vec<u8> = notes.chain(marked.iter().copied()).collect();
    let (strip, range) = if set.is_tight() {
        (rect, words::keyboard_alone(settings, &notes))
    } else {
        let strip = Rect::from_min_max(
            rect.min + vec2(0.0, HANDLES),
            rect.max - vec2(0.0, LEGEND + LANE),
        );
        (strip, words::keyboard(settings, &notes))
    };
    let drags = notes::is_dragged(ui);
    let keys = Keys::new(strip, handles::range(ui, range, drags, view, actions));
    let painter = ui.painter_at(rect.expand2(vec2(2.0, 0.0)));
    paint(&painter, &keys, settings, (&lit, &melody, &marked), palette);
    let scale = if view.practises() {
        Vec::new()
    } else {
        scale::of(view)
    };
    scale::paint(&painter, &keys, &scale, &lit, palette);
    let covered = |note: u8| {
        let sung = |key: &MelodyKey| key.note == note && !key.past && !is_lit(note);
        verdict.iter().any(|mark| mark.note == note) || melody.iter().any(sung)
    };
    for mark in marks.iter().filter(|mark| !covered(mark.note)) {
        write(&painter, &keys, mark, !sounds(mark), set);
    }
    let taken = |note: u8| {
        let marked = marks.iter().any(|mark| mark.note == note);
        is_lit(note) || marked && !covered(note)
    };
    melody::paint(&painter, &keys, &melody, taken, set);
    answer::paint(&painter, &keys, &verdict, set, palette);
    for note in keys.range.clone() {
        if snapshot.held & (1 << (note & 127)) != 0 {
            voices::held(&painter, keys.key(note), palette);
        }
    }
    let in_hand = notes::in_hand(view);
    if let Some(sounding) = in_hand {
        notes::lay_out(ui, &keys, sounding, &marks, actions);
    }
    if set == Set::Wide {
        let lane = Rangef::new(strip.bottom(), strip.bottom() + LANE);
        let target = moves::target(snapshot).filter(|_| !moves.is_empty());
        voices::moves(&painter, &keys, lane, (&moves, target.as_deref()), palette);
        if view.practises() {
            answer::legend(&painter, rect, palette);
        } else {
            let shows = (!melody.is_empty(), !moves.is_empty());
            let end = voices::legend(&painter, rect, shows, palette);
            if !scale.is_empty() {
                scale::legend(&painter, pos2(end, rect.bottom() - 8.0), palette);
            }
        }
        let band = (HANDLES, in_hand.is_some());
        handles::lay_out(ui, &painter, &keys, band, view, actions);
    }
}

/// The keys, those of the register brighter, those that sound in their colours. A key with a mark near
/// by has no name.
fn paint(
    painter: &Painter,
    keys: &Keys,
    settings: &Settings,
    (lit, melody, marked): (&[MarkedNote], &[MelodyKey], &[u8]),
    palette: &Palette,
) {
    let register = settings.taste.register;
    let register = register.lowest.number()..=register.highest.number();
    let mark = |note: u8| lit.iter().find(|m| m.note == note);
    let sung = |note: u8| melody.iter().any(|key| key.note == note && !key.past);
    keys.paint(painter, palette, |note| match mark(note) {
        Some(mark) => KeyFill::Lit(palette.of_kind(mark.kind)),
        None if sung(note) => KeyFill::Lit(palette.melody),
        None if register.contains(&note) => KeyFill::Plain,
        None => KeyFill::Outside,
    });
    let x = |note: u8| keys.key(note).center().x;
    let is_near = |note: u8| {
        marked
            .iter()
            .any(|other| (x(*other) - x(note)).abs() < APART)
    };
    for note in keys.range.clone().filter(|note| note % 12 == 0) {
        if !is_near(note) {
            let ink = if register.contains(&note) {
                palette.on_white_key
            } else {
                palette.on_white_key_outside
            };
            let words = words::key_name(MidiNote::clamp(i32::from(note)));
            let at = keys.key(note).center_bottom() - vec2(0.0, 7.0);
            painter.text(at, Align2::CENTER_BOTTOM, words, theme::text(11.0), ink);
        }
    }
}

/// The mark of a note on its key.
fn write(painter: &Painter, keys: &Keys, mark: &MarkedNote, past: bool, set: Set) {
    let (centre, text) = melody::place(keys, mark.note, set);
    let on = if past { mark::On::Past } else { mark::On::Key };
    mark::paint(painter, centre, &mark.label, mark.kind, text, on);
}

#[cfg(test)]
mod tests;
