//! The recording of the right hand: which take the player wants, as an atomic number from the panel to
//! the audio thread, and what comes of it back in a queue. Only `ends` imports it; it imports `wake`.

use crate::bridge::wake::Wake;
use crate::engine::taken::Taken;
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// What waits for the panel at most: half an hour of eighths at 140 bpm. The panel takes it in before
/// each frame; while its window is closed it waits.
const MOST_WAITING: usize = 8192;

/// The end of a take waits for so long for the audio thread. A host that is asked to process does so
/// sooner, and one that does not plays nothing that could be recorded.
const PATIENCE: Duration = Duration::from_secs(2);

/// What both halves share.
#[derive(Debug, Default)]
struct Shared {
    /// The take that the player wants to be recorded; 0 is none.
    wanted: AtomicU32,
    /// The take that the audio thread records; 0 is none. Everything of an earlier one lies in the queue.
    recorded: AtomicU32,
    /// What was lost because the queue was full, since the beginning.
    lost: AtomicU32,
}

/// The asking half: panel. Its lock is for the threads of the panel; the audio thread does not know it.
pub struct Asker {
    shared: Arc<Shared>,
    line: Mutex<Line>,
    wake: Wake,
}

struct Line {
    taken: Consumer<Taken>,
    /// The number of the last take.
    number: u32,
    /// What had been lost before it.
    lost_before: u32,
    /// When the player has ended it.
    ended: Option<Instant>,
}

/// The recording half: audio thread.
pub struct Sender {
    shared: Arc<Shared>,
    taken: Producer<Taken>,
}

/// Both halves.
#[must_use]
pub fn channel() -> (Asker, Sender) {
    channel_of(MOST_WAITING)
}

fn channel_of(most_waiting: usize) -> (Asker, Sender) {
    let shared = Arc::new(Shared::default());
    let (taken_there, taken) = RingBuffer::new(most_waiting);
    let asker = Asker {
        shared: shared.clone(),
        line: Mutex::new(Line {
            taken,
            number: 0,
            lost_before: 0,
            ended: None,
        }),
        wake: Wake::default(),
    };
    let sender = Sender {
        shared,
        taken: taken_there,
    };
    (asker, sender)
}

impl Asker {
    /// The host is asked by this to process when a take is to begin or end.
    pub fn set_wake(&mut self, wake: Wake) {
        self.wake = wake;
    }

    /// A new take is to begin. Returns its number.
    pub fn begin(&self) -> u32 {
        let mut line = self.line();
        line.number = line.number.wrapping_add(1).max(1);
        line.lost_before = self.shared.lost.load(Ordering::Relaxed);
        let number = line.number;
        self.shared.wanted.store(number, Ordering::Release);
        drop(line);
        self.wake.ask();
        number
    }

    /// The take is to end.
    pub fn end(&self) {
        self.line().ended = Some(Instant::now());
        self.shared.wanted.store(0, Ordering::Release);
        self.wake.ask();
    }

    /// Whether the last take has ended, once the player wanted it. Then all of it can be taken.
    #[must_use]
    pub fn has_ended(&self) -> bool {
        self.has_ended_at(Instant::now())
    }

    fn has_ended_at(&self, now: Instant) -> bool {
        if self.shared.wanted.load(Ordering::Relaxed) != 0 {
            return false;
        }
        let too_long = |ended: Instant| now.saturating_duration_since(ended) >= PATIENCE;
        let ended = self.shared.recorded.load(Ordering::Acquire) == 0;
        ended || self.line().ended.is_some_and(too_long)
    }

    /// Hands on what has come, the oldest first.
    pub fn drain(&self, mut take: impl FnMut(Taken)) {
        let mut line = self.line();
        while let Ok(taken) = line.taken.pop() {
            take(taken);
        }
    }

    /// What was lost of the last take because nobody took it in for too long.
    #[must_use]
    pub fn lost(&self) -> u32 {
        let before = self.line().lost_before;
        let lost = self.shared.lost.load(Ordering::Relaxed);
        lost.wrapping_sub(before)
    }

    /// Whether anything has come that has not been taken.
    #[must_use]
    pub fn is_any(&self) -> bool {
        !self.line().taken.is_empty()
    }

    fn line(&self) -> MutexGuard<'_, Line> {
        self.line.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Sender {
    /// The take that the player wants to be recorded; 0 is none. Wait-free.
    #[must_use]
    #[inline]
    pub fn wanted(&self) -> u32 {
        self.shared.wanted.load(Ordering::Acquire)
    }

    /// Sends what has come of a take. Where there is no room it is lost, and counted. Wait-free,
    /// without allocation.
    pub fn send(&mut self, taken: Taken) {
        if self.taken.push(taken).is_err() {
            self.shared.lost.fetch_add(1, Ordering::Relaxed);
        }
    }

    /// Tells which take is recorded, when everything of an earlier one has been sent; 0 is none.
    #[inline]
    pub fn tell(&self, recorded: u32) {
        if self.shared.recorded.load(Ordering::Relaxed) != recorded {
            self.shared.recorded.store(recorded, Ordering::Release);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::taken::TakenNote;

    fn note(key: u8) -> Taken {
        Taken::Note(TakenNote {
            key,
            ..TakenNote::default()
        })
    }

    #[test]
    fn a_take_ends_when_the_audio_thread_has_sent_all_of_it() {
        let (asker, mut sender) = channel();
        assert!(asker.has_ended(), "none has begun");
        let number = asker.begin();
        assert_eq!((sender.wanted(), asker.has_ended()), (number, false));
        sender.tell(number);
        sender.send(note(72));
        asker.end();
        let now = Instant::now();
        assert_eq!((sender.wanted(), asker.has_ended_at(now)), (0, false));
        let late = now + PATIENCE;
        assert!(asker.has_ended_at(late), "the host does not process");
        sender.send(note(74));
        sender.tell(0);
        assert!(asker.has_ended_at(now));
        let mut taken = Vec::new();
        asker.drain(|one| taken.push(one));
        assert_eq!(taken, [note(72), note(74)]);
        assert!(!asker.is_any());
        assert_ne!(asker.begin(), number, "every take has a number of its own");
    }

    /// What finds the queue full is counted, for each take anew.
    #[test]
    fn a_full_queue_is_told() {
        let (asker, mut sender) = channel_of(3);
        asker.begin();
        (60..65).for_each(|key| sender.send(note(key)));
        assert_eq!(asker.lost(), 2);
        let mut taken = Vec::new();
        asker.drain(|one| taken.push(one));
        assert_eq!(taken, [note(60), note(61), note(62)]);
        sender.send(note(66));
        assert_eq!((asker.lost(), asker.is_any()), (2, true));
        asker.begin();
        assert_eq!(asker.lost(), 0);
    }
}
