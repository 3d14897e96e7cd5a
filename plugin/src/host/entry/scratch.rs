//! Memory for the channels that a host leaves out: silence to be read, and bins to be written to. It is
//! made at activation on the main thread, and lent on the audio thread, where it never grows. Knows no
//! format; imports nothing of the crate.

/// Channels of some length.
#[derive(Debug, Default)]
pub struct Scratch {
    silence: Box<[f32]>,
    bins: Box<[Box<[f32]>]>,
}

impl Scratch {
    /// Room for as many output channels, in blocks of up to so many frames. Allocates: never on the
    /// audio thread.
    #[must_use]
    pub fn new(output_channels: usize, most_frames: usize) -> Self {
        let channel = || vec![0.0; most_frames].into_boxed_slice();
        Self {
            silence: channel(),
            bins: (0..output_channels).map(|_| channel()).collect(),
        }
    }

    /// The length of each channel, in frames.
    #[must_use]
    pub fn frames(&self) -> usize {
        self.silence.len()
    }

    /// A channel for inputs, silent in so many frames, whatever has been written to it before. All
    /// inputs may share it. It is valid until this is called again.
    pub fn silence(&mut self, frames: usize) -> *mut f32 {
        if let Some(asked) = self.silence.get_mut(..frames) {
            asked.fill(0.0);
        }
        self.silence.as_mut_ptr()
    }

    /// A channel for each output. What is in it means nothing.
    pub fn bins(&mut self) -> impl Iterator<Item = *mut f32> {
        self.bins.iter_mut().map(|bin| bin.as_mut_ptr())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_is_silent_again_after_somebody_wrote_to_it() {
        let mut scratch = Scratch::new(0, 16);
        let lent = scratch.silence(16);
        // SAFETY: it has 16 samples, and nothing else uses them.
        unsafe { lent.add(9).write(0.5) };
        let again = scratch.silence(16);
        // SAFETY: as before.
        let samples = unsafe { std::slice::from_raw_parts(again, 16) };
        assert_eq!(samples, [0.0; 16]);
    }

    #[test]
    fn each_output_has_a_channel_of_its_own() {
        let mut scratch = Scratch::new(3, 8);
        let bins: Vec<_> = scratch.bins().collect();
        for (value, bin) in (1_u8..).zip(&bins) {
            for index in 0..8 {
                // SAFETY: each has 8 samples, and nothing else uses them.
                unsafe { bin.add(index).write(value.into()) };
            }
        }
        // SAFETY: as before.
        let first = bins.iter().map(|bin| unsafe { bin.read() });
        assert_eq!(first.collect::<Vec<_>>(), [1.0, 2.0, 3.0]);
    }
}
