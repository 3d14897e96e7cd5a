//! The plugin as hosts get it: the framework's object, and a look at what it is handed. Its blocks run
//! on the audio thread, everything else on the host's main thread. Imports `audio`, `changes`,
//! `events`, `lent`, `waiting` and `plugin`.

use super::audio::{self, Channels, INPUTS, Memory, SAMPLES_OF_32_BITS};
use super::changes::{CONTROLLERS, Changes};
use super::events::Events;
use super::lent::Lent;
use super::waiting::Waiting;
use crate::host::plugin::Guidehand;
use nice_plug::wrapper::vst3::Wrapper;
use nice_plug::wrapper::vst3::vst3::Class;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::ChannelContext::{
    IInfoListener, IInfoListenerTrait,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::{
    AudioBusBuffers, AudioBusBuffers__type0, BusDirection, BusDirections_, BusInfo, CString,
    CtrlNumber, IAttributeList, IAudioProcessor, IAudioProcessorTrait, IComponent,
    IComponentHandler, IComponentTrait, IEditController, IEditControllerTrait, IMidiMapping,
    IMidiMappingTrait, INoteExpressionController, INoteExpressionControllerTrait,
    IProcessContextRequirements, IProcessContextRequirementsTrait, IUnitInfo, IUnitInfoTrait,
    IoMode, MediaType, MediaTypes_, NoteExpressionTypeID, NoteExpressionTypeInfo,
    NoteExpressionValue, ParamID, ParamValue, ParameterInfo, ProcessData, ProcessSetup,
    ProgramListID, ProgramListInfo, RoutingInfo, SpeakerArr, SpeakerArrangement, String128, TChar,
    UnitID, UnitInfo,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::{
    FIDString, FUnknown, IBStream, IPlugView, IPluginBaseTrait, TBool, TUID, int16, int32,
    kInvalidArgument, kNotInitialized, kResultFalse, kResultOk, tresult, uint32,
};
use std::ptr;
use std::sync::atomic::{AtomicBool, AtomicI32, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// `kAudio` of `vsttypes.h`, and `kInput` of `ivstcomponent.h`.
const AUDIO: MediaType = 0;
const INPUT: BusDirection = 0;
const _: () = assert!(MediaTypes_::kAudio == 0 && BusDirections_::kInput == 0);

/// One instance. The audio thread only tries the locks, and only for blocks that need what they hold;
/// otherwise they are free, unless a host sets the plugin up while it processes.
pub struct Guarded {
    framework: Wrapper<Guidehand>,
    is_set_up: AtomicBool,
    is_active: AtomicBool,
    /// The audio inputs of the layout in force.
    inputs: AtomicI32,
    /// The host has passed a channel of the output since it activated the plugin and its buses.
    passed_output: AtomicBool,
    memory: Mutex<Memory>,
    something_waits: AtomicBool,
    waiting: Mutex<Waiting>,
}

/// Those of the framework's object.
impl Class for Guarded {
    type Interfaces = (
        IComponent,
        IEditController,
        IAudioProcessor,
        IMidiMapping,
        INoteExpressionController,
        IProcessContextRequirements,
        IUnitInfo,
        IInfoListener,
    );
}

impl Guarded {
    pub fn new() -> Self {
        let new = Self {
            framework: Wrapper::new(),
            is_set_up: AtomicBool::new(false),
            is_active: AtomicBool::new(false),
            inputs: AtomicI32::new(0),
            passed_output: AtomicBool::new(false),
            memory: Mutex::default(),
            something_waits: AtomicBool::new(false),
            waiting: Mutex::default(),
        };
        new.read_layout();
        new
    }

    fn read_layout(&self) {
        // SAFETY: the call has no conditions.
        let inputs = unsafe { self.framework.getBusCount(AUDIO, INPUT) };
        self.inputs.store(inputs, Ordering::Relaxed);
    }

    fn waiting(&self) -> Option<MutexGuard<'_, Waiting>> {
        let waits = self.something_waits.load(Ordering::Relaxed);
        waits.then(|| self.waiting.try_lock().ok()).flatten()
    }

    /// A call that hands over parameters while no audio is due. `ivstaudioprocessor.h` has no samples
    /// in it. A host that has passed an output before and passes none in a call without notes means
    /// the same (common practice, no published source; the framework tells of such a host).
    ///
    /// # Safety
    /// What the host passes is valid.
    unsafe fn is_flush(&self, host: &ProcessData) -> bool {
        if host.numSamples <= 0 {
            return true;
        }
        // SAFETY: the caller promises that.
        unsafe {
            if !audio::has_output(host) {
                let events = Events::new(host.inputEvents, &[], 0);
                return self.passed_output.load(Ordering::Relaxed) && events.is_empty();
            }
        }
        if !self.passed_output.load(Ordering::Relaxed) {
            self.passed_output.store(true, Ordering::Relaxed);
        }
        false
    }

    /// Hands parameters to the framework, and keeps notes and controllers for the next block.
    ///
    /// # Safety
    /// What the host passes is valid.
    unsafe fn flush(&self, host: &ProcessData) -> tresult {
        // SAFETY: the caller promises that.
        let (events, changes) = unsafe {
            let events = Events::new(host.inputEvents, &[], 0);
            let changes = Changes::new(host.inputParameterChanges, &[], 0);
            (events, Lent::new(changes))
        };
        if let Ok(mut waiting) = self.waiting.try_lock() {
            waiting.keep(&events, changes.object());
            let waits = !waiting.is_empty();
            self.something_waits.store(waits, Ordering::Relaxed);
        }
        let mut data = ProcessData {
            numSamples: 0,
            numInputs: 0,
            numOutputs: 0,
            inputs: ptr::null_mut(),
            outputs: ptr::null_mut(),
            inputParameterChanges: changes.interface(),
            inputEvents: ptr::null_mut(),
            ..*host
        };
        // SAFETY: everything in it is the host's or outlives the call.
        unsafe { self.framework.process(&mut data) }
    }

    /// # Safety
    /// What the host passes is valid, and it has samples.
    unsafe fn play(&self, host: &ProcessData, frames: usize) -> tresult {
        let mut waiting = self.waiting();
        let waits = waiting.as_deref();
        let (events, changes) = waits.map_or((&[][..], &[][..]), |waiting| {
            (waiting.events(), waiting.changes())
        });
        let last = host.numSamples - 1;
        // SAFETY: the caller promises that.
        let (events, changes) = unsafe {
            (
                Lent::new(Events::new(host.inputEvents, events, last)),
                Lent::new(Changes::new(host.inputParameterChanges, changes, last)),
            )
        };
        let mut data = ProcessData {
            symbolicSampleSize: SAMPLES_OF_32_BITS,
            inputParameterChanges: changes.interface(),
            inputEvents: events.interface(),
            ..*host
        };
        let inputs = self.inputs.load(Ordering::Relaxed);
        // SAFETY: everything in it is the host's or outlives the call.
        let result = unsafe {
            if audio::is_complete(host, inputs) {
                self.framework.process(&mut data)
            } else {
                self.play_filled_up(host, &mut data, frames)
            }
        };
        if let Some(waiting) = &mut waiting
            && result == kResultOk
        {
            waiting.clear();
            self.something_waits.store(false, Ordering::Relaxed);
        }
        result
    }

    /// Plays a block whose audio the framework cannot read as it is.
    ///
    /// # Safety
    /// What the host passes is valid.
    unsafe fn play_filled_up(
        &self,
        host: &ProcessData,
        data: &mut ProcessData,
        frames: usize,
    ) -> tresult {
        let Ok(mut memory) = self.memory.try_lock() else {
            return kNotInitialized;
        };
        // SAFETY: the caller promises that.
        let filled_up = unsafe { memory.fill_up(host, frames) };
        let Some((mut inputs, mut output)) = filled_up else {
            return kInvalidArgument;
        };
        let mut inputs: [AudioBusBuffers; INPUTS] = inputs.each_mut().map(bus);
        let mut output = bus(&mut output);
        data.numInputs = self.inputs.load(Ordering::Relaxed);
        data.inputs = inputs.as_mut_ptr();
        data.numOutputs = 1;
        data.outputs = &mut output;
        // SAFETY: the caller promises that of the host's; ours outlives the call.
        unsafe {
            audio::silence_the_rest(host, frames);
            self.framework.process(data)
        }
    }
}

/// A bus with these channels.
fn bus(channels: &mut Channels) -> AudioBusBuffers {
    AudioBusBuffers {
        numChannels: int32::try_from(channels.len()).unwrap_or(0),
        silenceFlags: 0,
        __field0: AudioBusBuffers__type0 {
            channelBuffers32: channels.as_mut_ptr(),
        },
    }
}

/// Methods that hand their call on to the framework's object.
macro_rules! hand_on {
    ($interface:ident: $(fn $name:ident($($argument:ident: $type:ty),*) -> $result:ty;)*) => {$(
        unsafe fn $name(&self, $($argument: $type),*) -> $result {
            // SAFETY: what the host promises us is what we promise the framework.
            unsafe { <Wrapper<Guidehand> as $interface>::$name(&self.framework, $($argument),*) }
        }
    )*};
}

impl IPluginBaseTrait for Guarded {
    hand_on! { IPluginBaseTrait:
        fn initialize(context: *mut FUnknown) -> tresult;
        fn terminate() -> tresult;
    }
}

impl IComponentTrait for Guarded {
    hand_on! { IComponentTrait:
        fn getControllerClassId(class: *mut TUID) -> tresult;
        fn setIoMode(mode: IoMode) -> tresult;
        fn getBusCount(media: MediaType, way: BusDirection) -> int32;
        fn getRoutingInfo(input: *mut RoutingInfo, output: *mut RoutingInfo) -> tresult;
        fn setState(state: *mut IBStream) -> tresult;
        fn getState(state: *mut IBStream) -> tresult;
    }

    /// The framework takes an index below zero for zero.
    unsafe fn getBusInfo(
        &self,
        media: MediaType,
        way: BusDirection,
        index: int32,
        info: *mut BusInfo,
    ) -> tresult {
        if index < 0 {
            return kInvalidArgument;
        }
        // SAFETY: the host gives a valid place or none.
        unsafe { self.framework.getBusInfo(media, way, index, info) }
    }

    unsafe fn activateBus(
        &self,
        media: MediaType,
        way: BusDirection,
        index: int32,
        state: TBool,
    ) -> tresult {
        self.passed_output.store(false, Ordering::Relaxed);
        // SAFETY: the call has no conditions.
        unsafe { self.framework.activateBus(media, way, index, state) }
    }

    unsafe fn setActive(&self, state: TBool) -> tresult {
        // SAFETY: the call has no conditions.
        let result = unsafe { self.framework.setActive(state) };
        let is_active = state != 0 && result == kResultOk;
        self.read_layout();
        self.passed_output.store(false, Ordering::Relaxed);
        self.something_waits.store(false, Ordering::Relaxed);
        let waiting = self.waiting.lock();
        waiting.unwrap_or_else(PoisonError::into_inner).clear();
        self.is_active.store(is_active, Ordering::Relaxed);
        result
    }
}

impl IEditControllerTrait for Guarded {
    hand_on! { IEditControllerTrait:
        fn setComponentState(state: *mut IBStream) -> tresult;
        fn setState(state: *mut IBStream) -> tresult;
        fn getState(state: *mut IBStream) -> tresult;
        fn getParameterCount() -> int32;
        fn getParamStringByValue(id: ParamID, value: ParamValue, text: *mut String128) -> tresult;
        fn getParamValueByString(id: ParamID, text: *mut TChar, value: *mut ParamValue) -> tresult;
        fn normalizedParamToPlain(id: ParamID, value: ParamValue) -> ParamValue;
        fn plainParamToNormalized(id: ParamID, value: ParamValue) -> ParamValue;
        fn getParamNormalized(id: ParamID) -> ParamValue;
        fn setParamNormalized(id: ParamID, value: ParamValue) -> tresult;
        fn setComponentHandler(handler: *mut IComponentHandler) -> tresult;
        fn createView(name: FIDString) -> *mut IPlugView;
    }

    /// The framework has an answer for one beyond the last.
    unsafe fn getParameterInfo(&self, index: int32, info: *mut ParameterInfo) -> tresult {
        // SAFETY: the host gives a valid place or none.
        let result = unsafe {
            if index >= self.framework.getParameterCount() {
                return kInvalidArgument;
            }
            self.framework.getParameterInfo(index, info)
        };
        // SAFETY: the host gives a valid place or none, and the framework has filled it.
        let info = unsafe { info.as_mut() }.filter(|_| result == kResultOk);
        if let Some(info) = info
            && CONTROLLERS.contains(&info.id)
        {
            mark_controller(&mut info.title);
            mark_controller(&mut info.shortTitle);
        }
        result
    }
}

/// Makes "MIDI CC Ch. 1 CC 64" of the framework's "MIDI Ch. 1 CC 64". There are 2,080 of them. A host
/// that asks every parameter for all of its texts passes over those whose names begin with "MIDI CC "
/// (common practice, no published source).
fn mark_controller(name: &mut String128) {
    let mark = "CC ".encode_utf16();
    let (at, length) = ("MIDI ".len(), "CC ".len());
    let end = name.len() - 1 - length;
    name.copy_within(at..end, at + length);
    for (letter, to) in mark.zip(name.iter_mut().skip(at)) {
        *to = letter;
    }
}

impl IAudioProcessorTrait for Guarded {
    hand_on! { IAudioProcessorTrait:
        fn canProcessSampleSize(size: int32) -> tresult;
        fn getLatencySamples() -> uint32;
        fn setProcessing(state: TBool) -> tresult;
        fn getTailSamples() -> uint32;
    }

    /// Every bus is stereo. The framework reads the speakers of a side-chain at another place than its
    /// own, past the end of the host's list where there is no main input.
    unsafe fn setBusArrangements(
        &self,
        inputs: *mut SpeakerArrangement,
        input_count: int32,
        outputs: *mut SpeakerArrangement,
        output_count: int32,
    ) -> tresult {
        // SAFETY: a list is null or has that many members.
        let are_stereo =
            unsafe { are_stereo(inputs, input_count) && are_stereo(outputs, output_count) };
        if !are_stereo {
            return kResultFalse;
        }
        let mut inputs = [SpeakerArr::kStereo; INPUTS + 1];
        let mut output = SpeakerArr::kStereo;
        // SAFETY: the first list has a member more than the framework's layouts have inputs; of the
        // second it reads as many as they have outputs.
        let result = unsafe {
            let inputs = inputs.as_mut_ptr();
            self.framework
                .setBusArrangements(inputs, input_count, &mut output, output_count)
        };
        self.read_layout();
        result
    }

    /// The framework takes an index below zero for zero.
    unsafe fn getBusArrangement(
        &self,
        way: BusDirection,
        index: int32,
        speakers: *mut SpeakerArrangement,
    ) -> tresult {
        if index < 0 {
            return kInvalidArgument;
        }
        // SAFETY: the host gives a valid place or none.
        unsafe { self.framework.getBusArrangement(way, index, speakers) }
    }

    /// The framework takes samples of any size, and would read those of 64 bits as noise.
    unsafe fn setupProcessing(&self, setup: *mut ProcessSetup) -> tresult {
        // SAFETY: the host gives a valid set-up or none.
        let Some(told) = (unsafe { setup.as_ref() }) else {
            return kInvalidArgument;
        };
        if told.symbolicSampleSize != SAMPLES_OF_32_BITS {
            return kResultFalse;
        }
        let Ok(frames) = usize::try_from(told.maxSamplesPerBlock) else {
            return kInvalidArgument;
        };
        if !told.sampleRate.is_finite() || told.sampleRate <= 0.0 {
            return kInvalidArgument;
        }
        let memory = self.memory.lock();
        memory
            .unwrap_or_else(PoisonError::into_inner)
            .resize(frames);
        let waiting = self.waiting.lock();
        waiting.unwrap_or_else(PoisonError::into_inner).reserve();
        // SAFETY: it is not null.
        let result = unsafe { self.framework.setupProcessing(setup) };
        if result == kResultOk {
            self.is_set_up.store(true, Ordering::Relaxed);
        }
        result
    }

    unsafe fn process(&self, data: *mut ProcessData) -> tresult {
        // SAFETY: the host gives valid data or none.
        let Some(host) = (unsafe { data.as_ref() }) else {
            return kInvalidArgument;
        };
        // SAFETY: the interface says that what the host passes is valid.
        let is_flush = unsafe { self.is_flush(host) };
        // The framework ends the process where it does not know the rate yet.
        let is_ready = if is_flush {
            &self.is_set_up
        } else {
            &self.is_active
        };
        if !is_ready.load(Ordering::Relaxed) {
            return kNotInitialized;
        }
        // SAFETY: as above; a block that is no flush has samples.
        unsafe {
            if is_flush {
                self.flush(host)
            } else {
                self.play(host, usize::try_from(host.numSamples).unwrap_or(0))
            }
        }
    }
}

/// Whether so many buses are all stereo.
///
/// # Safety
/// The list is null or has that many members.
unsafe fn are_stereo(speakers: *mut SpeakerArrangement, count: int32) -> bool {
    match usize::try_from(count) {
        Ok(0) => true,
        Ok(count) if !speakers.is_null() => {
            // SAFETY: it is not null, so the caller promises that.
            let speakers = unsafe { std::slice::from_raw_parts(speakers, count) };
            speakers.iter().all(|bus| bus.count_ones() == 2)
        }
        _ => false,
    }
}

impl IMidiMappingTrait for Guarded {
    hand_on! { IMidiMappingTrait:
        fn getMidiControllerAssignment(
            bus: int32,
            channel: int16,
            controller: CtrlNumber,
            id: *mut ParamID
        ) -> tresult;
    }
}

impl INoteExpressionControllerTrait for Guarded {
    hand_on! { INoteExpressionControllerTrait:
        fn getNoteExpressionCount(bus: int32, channel: int16) -> int32;
        fn getNoteExpressionInfo(
            bus: int32,
            channel: int16,
            index: int32,
            info: *mut NoteExpressionTypeInfo
        ) -> tresult;
        fn getNoteExpressionStringByValue(
            bus: int32,
            channel: int16,
            id: NoteExpressionTypeID,
            value: NoteExpressionValue,
            text: *mut String128
        ) -> tresult;
        fn getNoteExpressionValueByString(
            bus: int32,
            channel: int16,
            id: NoteExpressionTypeID,
            text: *const TChar,
            value: *mut NoteExpressionValue
        ) -> tresult;
    }
}

impl IProcessContextRequirementsTrait for Guarded {
    hand_on! { IProcessContextRequirementsTrait:
        fn getProcessContextRequirements() -> uint32;
    }
}

impl IUnitInfoTrait for Guarded {
    hand_on! { IUnitInfoTrait:
        fn getUnitCount() -> int32;
        fn getUnitInfo(index: int32, info: *mut UnitInfo) -> tresult;
        fn getProgramListCount() -> int32;
        fn getProgramListInfo(index: int32, info: *mut ProgramListInfo) -> tresult;
        fn getProgramName(list: ProgramListID, index: int32, name: *mut String128) -> tresult;
        fn getProgramInfo(
            list: ProgramListID,
            index: int32,
            attribute: CString,
            value: *mut String128
        ) -> tresult;
        fn hasProgramPitchNames(list: ProgramListID, index: int32) -> tresult;
        fn getProgramPitchName(
            list: ProgramListID,
            index: int32,
            pitch: int16,
            name: *mut String128
        ) -> tresult;
        fn getSelectedUnit() -> UnitID;
        fn selectUnit(unit: UnitID) -> tresult;
        fn getUnitByBus(
            media: MediaType,
            way: BusDirection,
            bus: int32,
            channel: int32,
            unit: *mut UnitID
        ) -> tresult;
        fn setUnitProgramData(list: int32, index: int32, data: *mut IBStream) -> tresult;
    }
}

impl IInfoListenerTrait for Guarded {
    hand_on! { IInfoListenerTrait:
        fn setChannelContextInfos(list: *mut IAttributeList) -> tresult;
    }
}
