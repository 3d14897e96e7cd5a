//! What the panel asks to hear: a triple buffer to the audio thread, so that the newest request counts,
//! and the number of the one that was taken back, as an atomic number. Only `ends` imports it; it
//! imports `wake`.
//!
//! A request that nobody takes is withdrawn after a moment. Otherwise a host that begins to process
//! much later would sound it then.

use crate::bridge::wake::Wake;
use crate::engine::trial::{Ask, Request};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use triple_buffer::{Input, Output, TripleBuffer};

/// A request waits for so long for the audio thread. A host that is asked to process does so sooner.
const PATIENCE: Duration = Duration::from_secs(2);

/// The asking half: panel. Its lock is for the threads of the panel; the audio thread does not know it.
pub struct Asker {
    asking: Mutex<Asking>,
    /// The number of the ask that was taken last.
    taken: Arc<AtomicU32>,
    wake: Wake,
}

struct Asking {
    input: Input<Ask>,
    number: u32,
    /// When something was asked for that has not been withdrawn or stopped.
    asked: Option<Instant>,
    is_unheard: bool,
}

/// The hearing half: audio thread.
pub struct Listener {
    output: Output<Ask>,
    taken: Arc<AtomicU32>,
}

/// Both halves.
#[must_use]
pub fn channel() -> (Asker, Listener) {
    let (input, output) = TripleBuffer::default().split();
    let taken = Arc::new(AtomicU32::new(0));
    let asker = Asker {
        asking: Mutex::new(Asking {
            input,
            number: 0,
            asked: None,
            is_unheard: false,
        }),
        taken: taken.clone(),
        wake: Wake::default(),
    };
    (asker, Listener { output, taken })
}

impl Asking {
    fn publish(&mut self, request: Option<Request>) -> u32 {
        self.number = self.number.wrapping_add(1);
        let number = self.number;
        self.input.write(Ask { number, request });
        number
    }
}

impl Asker {
    /// The host is asked by this to process when there is something to hear.
    pub fn set_wake(&mut self, wake: Wake) {
        self.wake = wake;
    }

    /// Asks for this to be heard in place of what sounds. Returns the number by which the engine tells
    /// that it sounds.
    pub fn play(&self, request: &Request) -> u32 {
        self.play_at(request, Instant::now())
    }

    fn play_at(&self, request: &Request, now: Instant) -> u32 {
        let mut asking = self.asking();
        asking.asked = Some(now);
        asking.is_unheard = false;
        let number = asking.publish(Some(*request));
        drop(asking);
        self.wake.ask();
        number
    }

    /// Ends what sounds. Nothing happens if nothing was asked for since the last time.
    pub fn stop(&self) {
        let mut asking = self.asking();
        asking.is_unheard = false;
        if asking.asked.take().is_some() {
            asking.publish(None);
            drop(asking);
            // A host that has stopped processing meanwhile still owes the note-offs.
            self.wake.ask();
        }
    }

    /// How often something was asked, or ended, so far.
    #[cfg(test)]
    pub fn number(&self) -> u32 {
        self.asking().number
    }

    /// Whether the last request was withdrawn because no block was played that could sound it, and none
    /// has been played since: the host does not process.
    #[must_use]
    pub fn is_unheard(&self) -> bool {
        self.asking().is_unheard
    }

    /// Withdraws a request that has waited too long by now, and takes note of a host that plays blocks
    /// again; true if [`Asker::is_unheard`] tells something else now. To be called now and then while the
    /// panel is open.
    pub fn withdraw_unheard(&self, now: Instant) -> bool {
        let mut asking = self.asking();
        let waits = self.taken.load(Ordering::Acquire) != asking.number;
        let too_long = |asked: Instant| now.saturating_duration_since(asked) >= PATIENCE;
        if asking.is_unheard && !waits {
            asking.is_unheard = false;
            return true;
        }
        if !(waits && asking.asked.is_some_and(too_long)) {
            return false;
        }
        asking.asked = None;
        asking.is_unheard = true;
        asking.publish(None);
        true
    }

    fn asking(&self) -> MutexGuard<'_, Asking> {
        self.asking.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Drop for Asker {
    fn drop(&mut self) {
        self.stop();
    }
}

impl Listener {
    /// What has been asked since the last time. Wait-free, without allocation.
    pub fn take(&mut self) -> Option<&Ask> {
        if !self.output.updated() {
            return None;
        }
        let ask = self.output.read();
        self.taken.store(ask.number, Ordering::Release);
        Some(ask)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::trial::{Pace, Step};
    use guidehand_theory::pitch::MidiNote;

    fn request(key: u8) -> Request {
        Request::new(Pace::Free, [Step::note(MidiNote::new(key).unwrap())])
    }

    fn keys(ask: Option<&Ask>) -> Option<u128> {
        ask.unwrap()
            .request
            .map(|request| request.steps()[0].keys())
    }

    #[test]
    fn the_newest_request_counts_and_each_is_taken_once() {
        let (asker, mut listener) = channel();
        assert_eq!(listener.take(), None);
        asker.play(&request(60));
        let number = asker.play(&request(64));
        let taken = listener.take();
        assert_eq!(taken.map(|ask| ask.number), Some(number));
        assert_eq!(keys(taken), Some(1 << 64));
        assert_eq!(listener.take(), None);
        asker.play(&request(64));
        assert_eq!(keys(listener.take()), Some(1 << 64), "it is repeated");
    }

    #[test]
    fn a_stop_takes_the_place_of_a_request_and_comes_once() {
        let (asker, mut listener) = channel();
        asker.stop();
        assert_eq!(listener.take(), None, "nothing was asked for");
        asker.play(&request(60));
        asker.stop();
        assert_eq!(keys(listener.take()), None);
        asker.stop();
        assert_eq!(listener.take(), None);
    }

    #[test]
    fn a_panel_that_is_gone_has_stopped() {
        let (asker, mut listener) = channel();
        asker.play(&request(60));
        listener.take();
        drop(asker);
        assert_eq!(keys(listener.take()), None);
    }

    #[test]
    fn a_request_that_nobody_takes_is_withdrawn() {
        let (asker, mut listener) = channel();
        let begun = Instant::now();
        asker.play_at(&request(60), begun);
        let soon = begun + PATIENCE - Duration::from_millis(1);
        assert!(!asker.withdraw_unheard(soon));
        assert!(!asker.is_unheard());
        assert!(asker.withdraw_unheard(begun + PATIENCE));
        assert!(asker.is_unheard());
        assert!(!asker.withdraw_unheard(begun + 2 * PATIENCE), "once");
        assert!(asker.is_unheard(), "as long as no block is played");
        assert_eq!(keys(listener.take()), None, "it does not sound later");
        assert!(
            asker.withdraw_unheard(begun + 2 * PATIENCE),
            "the host plays again"
        );
        assert!(!asker.is_unheard());
        assert!(!asker.withdraw_unheard(begun + 2 * PATIENCE), "once");

        asker.play_at(&request(60), begun);
        assert!(!asker.is_unheard(), "asked anew");
        assert!(keys(listener.take()).is_some());
        assert!(!asker.withdraw_unheard(begun + PATIENCE), "it is heard");
        assert!(!asker.is_unheard());
    }

    #[test]
    fn a_host_is_asked_to_process_what_is_to_be_heard_and_its_end() {
        let (mut asker, _listener) = channel();
        let asked = Arc::new(AtomicU32::new(0));
        let counts = asked.clone();
        asker.set_wake(Wake::new(move || {
            counts.fetch_add(1, Ordering::Relaxed);
        }));
        asker.stop();
        assert_eq!(asked.load(Ordering::Relaxed), 0);
        asker.play(&request(60));
        assert_eq!(asked.load(Ordering::Relaxed), 1);
        asker.stop();
        assert_eq!(asked.load(Ordering::Relaxed), 2);
        drop(asker);
        assert_eq!(asked.load(Ordering::Relaxed), 2);
    }
}
