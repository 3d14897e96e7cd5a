//! The queues between a cell of practice and the audio thread: lessons there and back to be freed, what
//! the player asks, and answers. `cell` and `ends` import it.

use crate::engine::practising::PracticeAsk;
use crate::engine::sources::practice::PracticeSource;
use guidehand_practice::{Answered, Lesson};
use rtrb::{Consumer, Producer, RingBuffer};

/// The most lessons in the queue. While it is full, the newest lesson waits outside.
const LESSONS: usize = 4;

/// The most lessons that the audio thread holds.
const HELD: usize = 1;

/// What a player asks at most while the host processes nothing. More is not heard.
const ASKS: usize = 16;

/// The most answers that wait to be recorded: some minutes of the fastest drill.
const ANSWERS: usize = 1024;

/// A lesson under way.
#[derive(Debug)]
pub struct Sent {
    /// The lesson.
    pub lesson: Box<Lesson>,
    /// It begins at once.
    pub begins: bool,
}

/// The cell's end.
#[derive(Debug)]
pub struct Line {
    lessons: Producer<Sent>,
    done: Consumer<Box<Lesson>>,
    asks: Producer<PracticeAsk>,
    answers: Consumer<Answered>,
    /// The newest lesson that found the queue full.
    waiting: Option<Sent>,
}

/// The audio thread's end.
#[derive(Debug)]
pub struct LessonReceiver {
    lessons: Consumer<Sent>,
    done: Producer<Box<Lesson>>,
    asks: Consumer<PracticeAsk>,
    answers: Producer<Answered>,
}

/// Both ends.
pub fn line() -> (Line, LessonReceiver) {
    let (lessons, lessons_there) = RingBuffer::new(LESSONS);
    // Room for every lesson under way and for the one that the other end holds.
    let (done_there, done) = RingBuffer::new(LESSONS + HELD);
    let (asks, asks_there) = RingBuffer::new(ASKS);
    let (answers_there, answers) = RingBuffer::new(ANSWERS);
    let line = Line {
        lessons,
        done,
        asks,
        answers,
        waiting: None,
    };
    let receiver = LessonReceiver {
        lessons: lessons_there,
        done: done_there,
        asks: asks_there,
        answers: answers_there,
    };
    (line, receiver)
}

impl Line {
    /// Sends a lesson to the audio thread.
    pub fn send(&mut self, mut sent: Sent) {
        sent.begins |= self.waiting.as_ref().is_some_and(|waiting| waiting.begins);
        self.waiting = Some(sent);
        self.flush();
    }

    /// Frees the lessons that have come back, and sends the one that waits if there is room.
    pub fn flush(&mut self) {
        while self.done.pop().is_ok() {}
        if let Some(sent) = self.waiting.take()
            && let Err(rtrb::PushError::Full(sent)) = self.lessons.push(sent)
        {
            self.waiting = Some(sent);
        }
    }

    /// Asks something; false if nobody has listened for a while.
    pub fn ask(&mut self, ask: PracticeAsk) -> bool {
        self.asks.push(ask).is_ok()
    }

    /// The next answer.
    pub fn answer(&mut self) -> Option<Answered> {
        self.answers.pop().ok()
    }
}

impl LessonReceiver {
    /// Hands what has come to the source, before a block. What is asked of a drill counts only while the
    /// source is in force. Lock-free and without allocation.
    #[inline]
    pub fn hand_over(&mut self, source: &mut PracticeSource, in_force: bool) {
        if !self.lessons.is_empty() || !self.asks.is_empty() {
            self.hand_all_over(source, in_force);
        }
    }

    #[inline(never)]
    fn hand_all_over(&mut self, source: &mut PracticeSource, in_force: bool) {
        // While there is no room to send old ones back, the new ones wait.
        while self.done.slots() > 0
            && let Ok(Sent { lesson, begins }) = self.lessons.pop()
        {
            if let Some(old) = source.teach(lesson, begins) {
                // There is room: this is the only end that pushes.
                let _sent = self.done.push(old);
            }
        }
        while let Ok(ask) = self.asks.pop() {
            if in_force {
                source.practise(ask);
            }
        }
    }

    /// Takes the answers of a block. Where there is no room for them, they wait in the source.
    #[inline]
    pub fn take_answers(&mut self, source: &mut PracticeSource) {
        if source.answers().is_any() {
            source
                .answers()
                .drain(|answer| self.answers.push(answer).is_ok());
        }
    }
}
