//! What the panel shows, from the audio thread to the panel: a triple buffer. Only `ends`
//! imports it.

use crate::engine::snapshot::Snapshot;
use triple_buffer::{Input, Output, TripleBuffer};

/// The writing half: audio thread.
pub struct Writer {
    input: Input<Snapshot>,
}

/// The reading half: panel.
pub struct Reader {
    output: Output<Snapshot>,
}

/// Both halves.
#[must_use]
pub fn channel() -> (Writer, Reader) {
    let (input, output) = TripleBuffer::default().split();
    (Writer { input }, Reader { output })
}

impl Writer {
    /// Publishes a snapshot. Wait-free, without allocation.
    pub fn publish(&mut self, snapshot: &Snapshot) {
        *self.input.input_buffer_mut() = *snapshot;
        self.input.publish();
    }
}

impl Reader {
    /// Whether there is a newer snapshot than the one that was read last.
    #[must_use]
    pub fn is_new(&self) -> bool {
        self.output.updated()
    }

    /// The newest snapshot.
    pub fn read(&mut self) -> Snapshot {
        *self.output.read()
    }
}
