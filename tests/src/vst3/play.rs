//! Plays a session on a VST3 plugin, in the same blocks as the CLAP host. Imports the instance and
//! sessions.

use super::instance::Instance;
use super::number;
use crate::error::HostError;
use crate::event::TimedEvent;
use crate::session::{BlockSizes, Performance, Session};
use fastrand::Rng;

/// Plays a whole session and stops the plugin afterwards.
///
/// # Errors
/// [`HostError::Misuse`] for a session whose transport changes within blocks, which
/// the interface cannot express; otherwise as [`Instance::process`].
pub fn render(instance: &mut Instance, session: &Session) -> Result<Performance, HostError> {
    if session.changes_in_blocks {
        let fault = "a transport that changes within blocks".to_owned();
        return Err(HostError::Misuse(fault));
    }
    let mut song = session.song();
    let mut events = session.events.clone();
    // A stable sort: the order at one sample is part of the session.
    events.sort_by_key(|event| event.at_samples);
    let mut events = events.into_iter().peekable();
    let mut lengths = lengths(session.blocks);
    let mut performance = Performance::default();
    instance.output_limit = session.output_limit;
    instance.start(session.sample_rate_hz, session.blocks.max_frames())?;

    let mut start = 0;
    while start < session.length_samples {
        let change = song.next_change(start);
        let end = change.map_or(session.length_samples, |c| c.min(session.length_samples));
        let frames = lengths().min(end - start);
        let end = start + frames;
        let mut due = Vec::new();
        while let Some(event) = events.next_if(|event| event.at_samples < end) {
            due.push(TimedEvent::new(event.at_samples - start, event.event));
        }
        let block = instance.process(number(frames), &due, song.told(start))?;
        song.played(start, end);

        performance.blocks.push((start, number(frames)));
        performance.left.extend(block.left);
        performance.right.extend(block.right);
        performance.refused_events += u64::from(block.refused_events);
        let absolute = |event: TimedEvent| TimedEvent::new(start + event.at_samples, event.event);
        let events_out = block.events.into_iter().map(absolute);
        performance.events.extend(events_out);
        start = end;
    }
    instance.stop()?;
    Ok(performance)
}

/// The same lengths, in frames, as the CLAP host's player draws.
fn lengths(blocks: BlockSizes) -> impl FnMut() -> u64 {
    let mut rng = match blocks {
        BlockSizes::Fixed(_) => Rng::with_seed(0),
        BlockSizes::Random { seed, .. } => Rng::with_seed(seed),
    };
    move || match blocks {
        BlockSizes::Fixed(frames) => frames.into(),
        BlockSizes::Random { max_frames, .. } => rng.u32(1..=max_frames).into(),
    }
}
