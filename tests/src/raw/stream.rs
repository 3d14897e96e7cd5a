//! The plugin's state through streams that give and take a few bytes at a time,
//! and that break. Imports nothing of the crate but its instance.

use super::{Instance, given};
use clap_sys::ext::state::{CLAP_EXT_STATE, clap_plugin_state};
use clap_sys::stream::{clap_istream, clap_ostream};
use std::ffi::c_void;
use std::{ptr, slice};

/// How a stream behaves.
#[derive(Clone, Copy, Debug)]
pub struct Manner {
    /// The most bytes that pass in one call.
    pub most_bytes: usize,
    /// The byte before which the stream breaks; `usize::MAX` if it never does.
    pub breaks_at: usize,
    /// The answer of a broken stream: below 0 for an error, 0 for the end.
    pub answer: i64,
}

impl Manner {
    /// A stream that passes everything at once.
    pub const WHOLE: Self = Self::at_most(usize::MAX);

    /// A stream that passes a few bytes at a time.
    #[must_use]
    pub const fn at_most(most_bytes: usize) -> Self {
        Self {
            most_bytes,
            breaks_at: usize::MAX,
            answer: -1,
        }
    }

    /// A stream that breaks before a byte.
    #[must_use]
    pub const fn breaking(breaks_at: usize, answer: i64) -> Self {
        Self {
            most_bytes: usize::MAX,
            breaks_at,
            answer,
        }
    }

    /// How many of the wanted bytes pass now; none if the stream is broken.
    fn passing(&self, position: usize, wanted: u64) -> Option<usize> {
        let wanted = usize::try_from(wanted).unwrap_or(usize::MAX);
        let room = self.breaks_at.saturating_sub(position);
        (room > 0).then(|| wanted.min(self.most_bytes).min(room))
    }
}

struct Source<'b> {
    bytes: &'b [u8],
    position: usize,
    manner: Manner,
}

struct Sink {
    bytes: Vec<u8>,
    manner: Manner,
}

fn state(instance: &Instance) -> &clap_plugin_state {
    instance.interface::<clap_plugin_state>(CLAP_EXT_STATE)
}

/// Lets the plugin write its state. None if it reports a failure.
#[must_use]
pub fn save(instance: &Instance, manner: Manner) -> Option<Vec<u8>> {
    let mut sink = Sink {
        bytes: Vec::new(),
        manner,
    };
    let stream = clap_ostream {
        ctx: ptr::from_mut(&mut sink).cast(),
        write: Some(write),
    };
    // SAFETY: this is the main thread, and the stream outlives the call.
    let saved = unsafe { given(state(instance).save)(instance.plugin(), &raw const stream) };
    saved.then_some(sink.bytes)
}

/// Gives the plugin a state. Returns false if it reports a failure.
#[must_use]
pub fn load(instance: &Instance, bytes: &[u8], manner: Manner) -> bool {
    let mut source = Source {
        bytes,
        position: 0,
        manner,
    };
    let stream = clap_istream {
        ctx: ptr::from_mut(&mut source).cast(),
        read: Some(read),
    };
    // SAFETY: this is the main thread, and the stream outlives the call.
    unsafe { given(state(instance).load)(instance.plugin(), &raw const stream) }
}

unsafe extern "C" fn read(stream: *const clap_istream, buffer: *mut c_void, size: u64) -> i64 {
    // SAFETY: the stream was made by `load`, and nothing else uses it now.
    let source = unsafe { &mut *(*stream).ctx.cast::<Source<'_>>() };
    let Some(passing) = source.manner.passing(source.position, size) else {
        return source.manner.answer;
    };
    let rest = source.bytes.get(source.position..).unwrap_or_default();
    let part = &rest[..passing.min(rest.len())];
    // SAFETY: the plugin has room for `size` bytes, and these are no more.
    unsafe { ptr::copy_nonoverlapping(part.as_ptr(), buffer.cast(), part.len()) };
    source.position += part.len();
    i64::try_from(part.len()).unwrap_or(i64::MAX)
}

unsafe extern "C" fn write(stream: *const clap_ostream, buffer: *const c_void, size: u64) -> i64 {
    // SAFETY: the stream was made by `save`, and nothing else uses it now.
    let sink = unsafe { &mut *(*stream).ctx.cast::<Sink>() };
    let Some(passing) = sink.manner.passing(sink.bytes.len(), size) else {
        return sink.manner.answer;
    };
    // SAFETY: the plugin has written `size` bytes, and these are no more.
    let part = unsafe { slice::from_raw_parts(buffer.cast::<u8>(), passing) };
    sink.bytes.extend(part);
    i64::try_from(passing).unwrap_or(i64::MAX)
}
