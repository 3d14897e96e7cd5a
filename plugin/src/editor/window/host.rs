//! The host that an open window asks for another size. The panel's thread asks, and the host's
//! main thread puts the question, because hosts hear it there only. `window`, `app` and `size`
//! import it.

use crate::editor::window::sizing::{Answer, Pixels};
use nice_plug::editor::dpi::{PhysicalSize, Size};
use nice_plug::editor::{HostCallbacks, HostMainThreadCaller, HostMethods};
use std::cell::RefCell;
use std::error::Error;
use std::rc::Rc;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// How far the last question has come.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Question {
    /// There is none.
    None,
    /// The panel asks.
    Asked(Pixels, f64),
    /// The host is being asked.
    Put,
    /// It has answered.
    Answered(Answer),
}

type Shared<T> = Arc<Mutex<T>>;

fn lock<T>(shared: &Mutex<T>) -> MutexGuard<'_, T> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The panel's end.
#[derive(Clone)]
pub struct AskingEnd {
    question: Shared<Question>,
    caller: Shared<Box<dyn HostMainThreadCaller>>,
}

/// The end of the host's main thread.
pub struct PuttingEnd {
    question: Shared<Question>,
    callbacks: Callbacks,
    grants: bool,
}

type Callbacks = Rc<RefCell<Box<dyn HostCallbacks>>>;

/// What the toolkit gets in the host's place. It resizes its window first and then tells the
/// host, which some hosts do not allow; so its word about sizes does not reach the host.
struct Quiet(Callbacks);

/// The way to the main thread, for the toolkit.
struct Caller(Shared<Box<dyn HostMainThreadCaller>>);

/// Stands between the toolkit and the host. `grants` is whether the host grants a size by its
/// answer to the question alone, as in CLAP. In VST3 it does so by a call of its own. Returns
/// what the toolkit gets in the host's place.
#[must_use]
pub fn between(host: HostMethods, grants: bool) -> (HostMethods, AskingEnd, PuttingEnd) {
    let question = Arc::new(Mutex::new(Question::None));
    let caller = Arc::new(Mutex::new(host.main_thread_caller));
    let callbacks = Rc::new(RefCell::new(host.callbacks));
    let toolkit = HostMethods {
        callbacks: Box::new(Quiet(callbacks.clone())),
        main_thread_caller: Box::new(Caller(caller.clone())),
    };
    let asking = AskingEnd {
        question: question.clone(),
        caller,
    };
    let putting = PuttingEnd {
        question,
        callbacks,
        grants,
    };
    (toolkit, asking, putting)
}

impl AskingEnd {
    /// Asks for a size. A question that has not been put yet is forgotten.
    pub fn ask(&self, pixels: Pixels, scale: f64) {
        *lock(&self.question) = Question::Asked(pixels, scale);
        lock(&self.caller).call_main_thread();
    }

    /// The answer to the last question, once.
    #[must_use]
    pub fn answer(&self) -> Option<Answer> {
        let mut question = lock(&self.question);
        let Question::Answered(answer) = *question else {
            return None;
        };
        *question = Question::None;
        Some(answer)
    }
}

impl PuttingEnd {
    /// Puts the question, if there is one. The host may call back before this returns.
    pub fn put(&self) {
        let (pixels, scale) = {
            let mut question = lock(&self.question);
            let Question::Asked(pixels, scale) = *question else {
                return;
            };
            *question = Question::Put;
            (pixels, scale)
        };
        let answer = match self.request(pixels, scale) {
            Ok(()) if self.grants => Answer::Granted,
            Ok(()) => Answer::Passed,
            Err(_) => Answer::Refused,
        };
        let mut question = lock(&self.question);
        // The panel may have asked again meanwhile.
        if *question == Question::Put {
            *question = Question::Answered(answer);
        }
    }

    fn request(&self, [width, height]: Pixels, scale: f64) -> Result<(), Box<dyn Error>> {
        let size = Size::Physical(PhysicalSize::new(width, height));
        self.callbacks.try_borrow_mut()?.request_resize(size, scale)
    }
}

impl HostCallbacks for Quiet {
    fn request_resize(&mut self, _: Size, _: f64) -> Result<(), Box<dyn Error>> {
        Ok(())
    }

    fn destroyed(&mut self) {
        if let Ok(mut callbacks) = self.0.try_borrow_mut() {
            callbacks.destroyed();
        }
    }
}

impl HostMainThreadCaller for Caller {
    fn call_main_thread(&mut self) {
        lock(&self.0).call_main_thread();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PIXELS: Pixels = [1_200, 950];

    /// What a host is asked for, and how often its main thread is called.
    #[derive(Clone, Default)]
    struct Host {
        asked: Shared<Vec<Size>>,
        called: Shared<usize>,
        refuses: bool,
        destroyed: Shared<bool>,
    }

    impl HostCallbacks for Host {
        fn request_resize(&mut self, size: Size, _: f64) -> Result<(), Box<dyn Error>> {
            lock(&self.asked).push(size);
            if self.refuses {
                return Err("no".into());
            }
            Ok(())
        }

        fn destroyed(&mut self) {
            *lock(&self.destroyed) = true;
        }
    }

    impl HostMainThreadCaller for Host {
        fn call_main_thread(&mut self) {
            *lock(&self.called) += 1;
        }
    }

    fn ends(host: &Host, grants: bool) -> (HostMethods, AskingEnd, PuttingEnd) {
        let methods = HostMethods {
            callbacks: Box::new(host.clone()),
            main_thread_caller: Box::new(host.clone()),
        };
        between(methods, grants)
    }

    #[test]
    fn a_question_is_put_once_and_answered_once() {
        for (grants, refuses, answer) in [
            (true, false, Answer::Granted),
            (false, false, Answer::Passed),
            (true, true, Answer::Refused),
        ] {
            let host = Host {
                refuses,
                ..Host::default()
            };
            let (_toolkit, asking, putting) = ends(&host, grants);
            asking.ask(PIXELS, 1.0);
            assert_eq!((*lock(&host.called), asking.answer()), (1, None));
            putting.put();
            putting.put();
            let size = Size::Physical(PhysicalSize::new(1_200, 950));
            assert_eq!(*lock(&host.asked), [size]);
            assert_eq!(asking.answer(), Some(answer));
            assert_eq!(asking.answer(), None);
        }
    }

    #[test]
    fn a_new_question_takes_the_place_of_an_old_one() {
        let host = Host::default();
        let (_toolkit, asking, putting) = ends(&host, true);
        asking.ask([1, 1], 1.0);
        asking.ask(PIXELS, 1.0);
        putting.put();
        assert_eq!(lock(&host.asked).len(), 1);
        asking.ask([1, 1], 1.0);
        assert_eq!(asking.answer(), None, "an answer to another question");
    }

    #[test]
    fn the_toolkit_tells_the_host_of_no_sizes() {
        let host = Host::default();
        let (mut toolkit, ..) = ends(&host, true);
        let size = Size::Physical(PhysicalSize::new(1, 1));
        toolkit.callbacks.request_resize(size, 1.0).unwrap();
        toolkit.callbacks.destroyed();
        toolkit.main_thread_caller.call_main_thread();
        assert!(lock(&host.asked).is_empty());
        assert!(*lock(&host.destroyed));
        assert_eq!(*lock(&host.called), 1);
    }
}
