//! The plugin as hosts get it: the framework's object behind a look at what it is handed. `process` runs
//! on the audio thread, everything else on the host's main thread. Imports `audio`, `changes` and
//! `blocks`.

use super::audio::{CHANNELS, INPUTS, SAMPLES_OF_32_BITS};
use super::blocks::{Blocks, Framework};
use super::changes::CONTROLLERS;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::ChannelContext::{
    IInfoListener, IInfoListenerTrait,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::{
    BusDirection, BusDirections_, BusInfo, CString, CtrlNumber, IAttributeList, IAudioProcessor,
    IAudioProcessorTrait, IComponent, IComponentHandler, IComponentTrait, IEditController,
    IEditControllerTrait, IMidiMapping, IMidiMappingTrait, INoteExpressionController,
    INoteExpressionControllerTrait, IProcessContextRequirements, IProcessContextRequirementsTrait,
    IUnitInfo, IUnitInfoTrait, IoMode, MediaType, MediaTypes_, NoteExpressionTypeID,
    NoteExpressionTypeInfo, NoteExpressionValue, ParamID, ParamValue, ParameterInfo, ProcessData,
    ProcessSetup, ProgramListID, ProgramListInfo, RoutingInfo, SpeakerArr, SpeakerArrangement,
    String128, TChar, UnitID, UnitInfo,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::{
    FIDString, FUnknown, IBStream, IPlugView, IPlugViewTrait, IPluginBaseTrait, TBool, TUID, int16,
    int32, kInvalidArgument, kResultFalse, kResultOk, tresult, uint32,
};
use nice_plug::wrapper::vst3::vst3::{Class, ComPtr, ComRef};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// `kAudio` of `vsttypes.h`, and `kInput` of `ivstcomponent.h`.
const AUDIO: MediaType = 0;
const INPUT: BusDirection = 0;
const _: () = assert!(MediaTypes_::kAudio == 0 && BusDirections_::kInput == 0);

/// One instance.
pub struct Guarded {
    framework: Framework,
    blocks: Blocks,
    /// The view that the host got last. Only the host's main thread uses it.
    view: Mutex<Option<ComPtr<IPlugView>>>,
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
            framework: Framework::new(),
            blocks: Blocks::default(),
            view: Mutex::default(),
        };
        new.read_layout();
        new
    }

    fn last_view(&self) -> MutexGuard<'_, Option<ComPtr<IPlugView>>> {
        self.view.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn read_layout(&self) {
        // SAFETY: the call has no conditions.
        let inputs = unsafe { self.framework.getBusCount(AUDIO, INPUT) };
        self.blocks.set_inputs(inputs);
    }
}

/// Methods that hand their call on to the framework's object.
macro_rules! hand_on {
    ($interface:ident: $(fn $name:ident($($argument:ident: $type:ty),*) -> $result:ty;)*) => {$(
        unsafe fn $name(&self, $($argument: $type),*) -> $result {
            // SAFETY: what the host promises us is what we promise the framework.
            unsafe { <Framework as $interface>::$name(&self.framework, $($argument),*) }
        }
    )*};
}

impl IPluginBaseTrait for Guarded {
    hand_on! { IPluginBaseTrait:
        fn initialize(context: *mut FUnknown) -> tresult;
    }

    /// Closes a view that the host has left open. The framework's object and the window hold each
    /// other, so both would stay, with the window's threads.
    unsafe fn terminate(&self) -> tresult {
        let view = self.last_view().take();
        // SAFETY: the view lives as long as we hold it, and this is its thread.
        unsafe {
            if let Some(view) = view {
                view.removed();
            }
            self.framework.terminate()
        }
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
        self.blocks.forget_output();
        // SAFETY: the call has no conditions.
        unsafe { self.framework.activateBus(media, way, index, state) }
    }

    unsafe fn setActive(&self, state: TBool) -> tresult {
        // SAFETY: the call has no conditions.
        let result = unsafe { self.framework.setActive(state) };
        self.read_layout();
        self.blocks.set_active(state != 0 && result == kResultOk);
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
    }

    unsafe fn createView(&self, name: FIDString) -> *mut IPlugView {
        // SAFETY: the host gives a string; the framework gives a view or null, and the host's
        // reference to it keeps it alive here.
        unsafe {
            let view = self.framework.createView(name);
            *self.last_view() = ComRef::from_raw(view).map(|view| view.to_com_ptr());
            view
        }
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
        self.blocks.make_room(frames);
        // SAFETY: it is not null.
        let result = unsafe { self.framework.setupProcessing(setup) };
        if result == kResultOk {
            self.blocks.set_up();
        }
        result
    }

    unsafe fn process(&self, data: *mut ProcessData) -> tresult {
        // SAFETY: the host gives valid data or none, and the interface says that so is all in it.
        unsafe { self.blocks.process(&self.framework, data) }
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
            let channels = |bus: &SpeakerArrangement| usize::try_from(bus.count_ones());
            speakers.iter().all(|bus| channels(bus) == Ok(CHANNELS))
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
