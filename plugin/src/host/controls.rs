//! The pages of parameters that a host assigns to the eight knobs of a controller. Runs on the host's
//! main thread; imports `params`.

use crate::params::GuidehandParams;
use nice_plug::prelude::{RemoteControlsContext, RemoteControlsPage, RemoteControlsSection};

/// Lays the parameters out on pages of at most eight. Those that players turn most often while playing
/// come first. Bypass is left out, because every host has a button for it. The framework numbers the
/// pages by their order, and hosts may store the numbers, so a new page goes to the end.
pub fn lay_out(params: &GuidehandParams, context: &mut impl RemoteControlsContext) {
    harmony(params, context);
    time(params, context);
    range(params, context);
    song(params, context);
    bass(params, context);
    voicing(params, context);
    melody(params, context);
}

fn harmony(params: &GuidehandParams, context: &mut impl RemoteControlsContext) {
    context.add_section("Harmony", |section| {
        section.add_page("Tensions", |page| {
            page.add_param(&params.source);
            page.add_param(&params.tonic);
            page.add_param(&params.mode);
            page.add_param(&params.texture);
            page.add_param(&params.ninth);
            page.add_param(&params.eleventh);
            page.add_param(&params.thirteenth);
            page.add_param(&params.inner_lines);
        });
    });
}

fn time(params: &GuidehandParams, context: &mut impl RemoteControlsContext) {
    context.add_section("Time", |section| {
        section.add_page("Rhythm", |page| {
            page.add_param(&params.rhythm);
            page.add_param(&params.density);
            page.add_param(&params.ahead);
            page.add_param(&params.swing);
            page.add_param(&params.swing_follows);
            page.add_param(&params.length);
            page.add_param(&params.accents);
            page.add_param(&params.seed);
        });
        section.add_page("Touch", |page| {
            page.add_param(&params.velocity);
            page.add_param(&params.accents);
            page.add_param(&params.touch_velocity);
            page.add_param(&params.touch_ms);
            page.add_param(&params.length);
            page.add_param(&params.seed);
            page.add_param(&params.variation);
        });
    });
}

fn range(params: &GuidehandParams, context: &mut impl RemoteControlsContext) {
    context.add_section("Range", |section| {
        section.add_page("Register and bass", |page| {
            page.add_param(&params.lowest);
            page.add_param(&params.highest);
            page.add_param(&params.split);
            page.add_param(&params.gate);
            page.add_param(&params.bass);
            page.add_param(&params.bass_channel);
            page.add_param(&params.tone);
            page.add_param(&params.tone_level);
        });
    });
}

fn song(params: &GuidehandParams, context: &mut impl RemoteControlsContext) {
    context.add_section("Song", |section| {
        section.add_page("Chart", |page| {
            page.add_param(&params.from_bar);
            page.add_param(&params.repeats);
            page.add_param(&params.pin_key);
            page.add_param(&params.at_once);
            page.add_param(&params.tempo);
        });
    });
}

fn bass(params: &GuidehandParams, context: &mut impl RemoteControlsContext) {
    context.add_section("Bass", |section| {
        section.add_page("Following", |page| {
            page.add_param(&params.bass_by);
            page.add_param(&params.bass_gate);
            page.add_param(&params.bass_tunes);
            page.add_param(&params.bass_a4);
        });
    });
}

fn voicing(params: &GuidehandParams, context: &mut impl RemoteControlsContext) {
    context.add_section("Voicing", |section| {
        section.add_page("Other chords and hand", |page| {
            page.add_param(&params.major_tonic);
            page.add_param(&params.minor_tonic);
            page.add_param(&params.plain_ninth);
            page.add_param(&params.minor_eleventh);
            page.add_param(&params.major_eleventh);
            page.add_param(&params.hand_at_ease);
            page.add_param(&params.hand_at_most);
            page.add_param(&params.hard_edges);
        });
    });
}

fn melody(params: &GuidehandParams, context: &mut impl RemoteControlsContext) {
    context.add_section("Melody", |section| {
        section.add_page("Right hand", |page| {
            page.add_param(&params.yielding);
            page.add_param(&params.revoices);
            page.add_param(&params.space);
            page.add_param(&params.under);
            page.add_param(&params.single_ms);
            page.add_param(&params.comps);
        });
    });
}
