//! The host's answers to a plugin's calls. Every call is counted, and none is answered at once: the
//! host acts between blocks. May be imported by the host only; imports the manners of hosts.

use crate::resizing::Resizing;
use clack_extensions::audio_ports::{AudioPortRescanFlags, HostAudioPorts, HostAudioPortsImpl};
use clack_extensions::gui::{GuiSize, HostGui, HostGuiImpl};
use clack_extensions::latency::{HostLatency, HostLatencyImpl};
use clack_extensions::log::{HostLog, HostLogImpl, LogSeverity};
use clack_extensions::note_ports::{
    HostNotePorts, HostNotePortsImpl, NoteDialects, NotePortRescanFlags,
};
use clack_extensions::params::{
    HostParams, HostParamsImplMainThread, HostParamsImplShared, ParamClearFlags, ParamRescanFlags,
};
use clack_extensions::state::{HostState, HostStateImpl};
use clack_extensions::tail::{HostTail, HostTailImpl};
use clack_extensions::thread_check::{HostThreadCheck, HostThreadCheckImpl};
use clack_host::host::{
    AudioProcessorHandler, HostError, HostExtensions, HostHandlers, MainThreadHandler,
    SharedHandler,
};
use clack_host::utils::ClapId;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, ThreadId};

/// How often a plugin has called its host since it was loaded, and been answered.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Requests {
    /// Requests for a call on the main thread.
    pub callbacks: u32,
    /// Calls that the host has made; one call may answer several requests.
    pub callbacks_answered: u32,
    /// Requests to be deactivated and activated again.
    pub restarts: u32,
    /// Requests to be processed.
    pub processes: u32,
    /// Requests to have parameters flushed.
    pub flushes: u32,
    /// Requests to have parameters or ports read again.
    pub rescans: u32,
    /// Reports that the latency has changed.
    pub latency_changes: u32,
    /// Reports that the tail has changed.
    pub tail_changes: u32,
    /// Reports that the state has changed and should be saved.
    pub dirty_marks: u32,
    /// Main-thread calls from another thread, which are a fault of the plugin.
    pub wrong_thread: u32,
}

/// What the plugin asked for, shared between host and handlers.
///
/// One thread plays both of CLAP's threads. `processing` says which one it is,
/// so a plugin finds itself off the main thread in `process`, as in a real
/// host, and has to ask for callbacks.
pub(crate) struct Signals {
    main_thread: ThreadId,
    processing: AtomicBool,
    callback_wanted: AtomicBool,
    flush_wanted: AtomicBool,
    size_wanted: Mutex<Option<GuiSize>>,
    resizing: Mutex<Resizing>,
    counts: RequestCounts,
    log: Mutex<Vec<(LogSeverity, String)>>,
}

#[derive(Default)]
struct RequestCounts {
    callbacks: AtomicU32,
    callbacks_answered: AtomicU32,
    restarts: AtomicU32,
    processes: AtomicU32,
    flushes: AtomicU32,
    rescans: AtomicU32,
    latency_changes: AtomicU32,
    tail_changes: AtomicU32,
    dirty_marks: AtomicU32,
    wrong_thread: AtomicU32,
}

// Every access is sequentially consistent. Measurements exclude the host's bookkeeping, so
// simplicity matters more here than speed.
const ORDER: Ordering = Ordering::SeqCst;

impl Signals {
    pub(crate) fn new() -> Arc<Self> {
        Arc::new(Self {
            main_thread: thread::current().id(),
            processing: AtomicBool::new(false),
            callback_wanted: AtomicBool::new(false),
            flush_wanted: AtomicBool::new(false),
            size_wanted: Mutex::default(),
            resizing: Mutex::default(),
            counts: RequestCounts::default(),
            log: Mutex::default(),
        })
    }

    /// Runs something as the audio thread.
    pub(crate) fn as_audio_thread<T>(&self, run: impl FnOnce() -> T) -> T {
        self.processing.store(true, ORDER);
        let result = run();
        self.processing.store(false, ORDER);
        result
    }

    /// Whether a callback is requested. The call clears the request.
    pub(crate) fn take_callback(&self) -> bool {
        self.callback_wanted.swap(false, ORDER) && self.resizing() != Resizing::Deaf
    }

    /// What the host does when the editor asks for a size.
    pub(crate) fn resizing(&self) -> Resizing {
        *self.resizing.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Another manner of the host.
    pub(crate) fn set_resizing(&self, resizing: Resizing) {
        *self.resizing.lock().unwrap_or_else(PoisonError::into_inner) = resizing;
    }

    /// Notes that the host has called the plugin back.
    pub(crate) fn answered_callback(&self) {
        self.counts.callbacks_answered.fetch_add(1, ORDER);
    }

    /// Whether a flush is requested. The call clears the request.
    pub(crate) fn take_flush(&self) -> bool {
        self.flush_wanted.swap(false, ORDER)
    }

    /// The size that the editor requests for its window. The call clears the request.
    pub(crate) fn take_size(&self) -> Option<GuiSize> {
        let mut size = self
            .size_wanted
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        size.take()
    }

    pub(crate) fn log(&self) -> Vec<(LogSeverity, String)> {
        let log = self.log.lock().unwrap_or_else(PoisonError::into_inner);
        log.clone()
    }

    pub(crate) fn requests(&self) -> Requests {
        let counts = &self.counts;
        Requests {
            callbacks: counts.callbacks.load(ORDER),
            callbacks_answered: counts.callbacks_answered.load(ORDER),
            restarts: counts.restarts.load(ORDER),
            processes: counts.processes.load(ORDER),
            flushes: counts.flushes.load(ORDER),
            rescans: counts.rescans.load(ORDER),
            latency_changes: counts.latency_changes.load(ORDER),
            tail_changes: counts.tail_changes.load(ORDER),
            dirty_marks: counts.dirty_marks.load(ORDER),
            wrong_thread: counts.wrong_thread.load(ORDER),
        }
    }

    fn on_main_thread(&self) -> bool {
        thread::current().id() == self.main_thread && !self.processing.load(ORDER)
    }

    fn count_main(&self, counter: &AtomicU32) {
        counter.fetch_add(1, ORDER);
        if !self.on_main_thread() {
            self.counts.wrong_thread.fetch_add(1, ORDER);
        }
    }
}

/// The set of handlers.
pub(crate) struct Handlers;

/// Calls from any thread.
pub(crate) struct Shared(pub(crate) Arc<Signals>);

/// Calls from the main thread.
pub(crate) struct MainThread(pub(crate) Arc<Signals>);

/// Calls from the audio thread.
pub(crate) struct AudioThread(pub(crate) Arc<Signals>);

impl HostHandlers for Handlers {
    type Shared<'a> = Shared;
    type MainThread<'a> = MainThread;
    type AudioProcessor<'a> = AudioThread;

    fn declare_extensions(builder: &mut HostExtensions<Self>, _: &Shared) {
        builder
            .register::<HostAudioPorts>()
            .register::<HostGui>()
            .register::<HostLatency>()
            .register::<HostLog>()
            .register::<HostNotePorts>()
            .register::<HostParams>()
            .register::<HostState>()
            .register::<HostTail>()
            .register::<HostThreadCheck>();
    }
}

impl SharedHandler<'_> for Shared {
    fn request_restart(&self) {
        self.0.counts.restarts.fetch_add(1, ORDER);
    }

    fn request_process(&self) {
        self.0.counts.processes.fetch_add(1, ORDER);
    }

    fn request_callback(&self) {
        self.0.counts.callbacks.fetch_add(1, ORDER);
        self.0.callback_wanted.store(true, ORDER);
    }
}

impl HostParamsImplShared for Shared {
    fn request_flush(&self) {
        self.0.counts.flushes.fetch_add(1, ORDER);
        self.0.flush_wanted.store(true, ORDER);
    }
}

impl HostLogImpl for Shared {
    fn log(&self, severity: LogSeverity, message: &str) {
        let mut log = self.0.log.lock().unwrap_or_else(PoisonError::into_inner);
        log.push((severity, message.to_owned()));
    }
}

/// Our windows stay on the screen until they are closed.
impl HostGuiImpl for Shared {
    fn resize_hints_changed(&self) {}

    fn request_resize(&self, size: GuiSize) -> Result<(), HostError> {
        if self.0.resizing() == Resizing::Refuses {
            return Err(HostError::Message("the window keeps its size"));
        }
        let mut wanted = self
            .0
            .size_wanted
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        *wanted = Some(size);
        Ok(())
    }

    fn request_show(&self) -> Result<(), HostError> {
        Ok(())
    }

    fn request_hide(&self) -> Result<(), HostError> {
        Ok(())
    }

    fn closed(&self, _: bool) {}
}

impl HostThreadCheckImpl for Shared {
    fn is_main_thread(&self) -> bool {
        self.0.on_main_thread()
    }

    fn is_audio_thread(&self) -> bool {
        thread::current().id() == self.0.main_thread && self.0.processing.load(ORDER)
    }
}

impl MainThreadHandler<'_> for MainThread {}

impl HostParamsImplMainThread for MainThread {
    fn rescan(&self, _: ParamRescanFlags) {
        self.0.count_main(&self.0.counts.rescans);
    }

    fn clear(&self, _: ClapId, _: ParamClearFlags) {
        self.0.count_main(&self.0.counts.rescans);
    }
}

impl HostAudioPortsImpl for MainThread {
    fn is_rescan_flag_supported(&self, _: AudioPortRescanFlags) -> bool {
        false
    }

    fn rescan(&self, _: AudioPortRescanFlags) {
        self.0.count_main(&self.0.counts.rescans);
    }
}

impl HostNotePortsImpl for MainThread {
    fn supported_dialects(&self) -> NoteDialects {
        NoteDialects::CLAP | NoteDialects::MIDI
    }

    fn rescan(&self, _: NotePortRescanFlags) {
        self.0.count_main(&self.0.counts.rescans);
    }
}

impl HostLatencyImpl for MainThread {
    fn changed(&self) {
        self.0.count_main(&self.0.counts.latency_changes);
    }
}

impl HostStateImpl for MainThread {
    fn mark_dirty(&self) {
        self.0.count_main(&self.0.counts.dirty_marks);
    }
}

impl AudioProcessorHandler<'_> for AudioThread {}

impl HostTailImpl for AudioThread {
    fn changed(&mut self) {
        self.0.counts.tail_changes.fetch_add(1, ORDER);
    }
}
