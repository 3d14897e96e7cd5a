//! What the guard before the VST3 entry adds to a block: the framework's object, and ours around it,
//! play the same blocks in turn. The goal is less than 10 ns a block without events. Words on the
//! command line choose the parts whose names contain one of them.

use guidehand::Guidehand;
use nice_plug::wrapper::vst3::Wrapper;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::{
    AudioBusBuffers, AudioBusBuffers__type0, Event, Event__type0, IAudioProcessor,
    IAudioProcessorTrait, IComponent, IComponentTrait, IEditController, IEditControllerTrait,
    IEventList, IEventListTrait, IParamValueQueue, IParameterChanges, IParameterChangesTrait,
    NoteOffEvent, ParamID, ParameterInfo, ParameterInfo_::ParameterFlags_, ProcessData,
    ProcessSetup,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::{
    IPluginFactory, IPluginFactoryTrait, PClassInfo, int32, kResultFalse, kResultOk, tresult,
};
use nice_plug::wrapper::vst3::vst3::{Class, ComPtr, ComWrapper, Interface};
use std::time::{Duration, Instant};

const FRAMES: usize = 64;
/// Blocks in a row, and how often both play as many.
const BLOCKS: u32 = 2_000;
const TURNS: usize = 301;

/// A list of as many note-offs of keys that do not sound.
struct Events(int32);

impl Class for Events {
    type Interfaces = (IEventList,);
}

impl IEventListTrait for Events {
    unsafe fn getEventCount(&self) -> int32 {
        self.0
    }

    unsafe fn getEvent(&self, index: int32, event: *mut Event) -> tresult {
        let off = NoteOffEvent {
            channel: 0,
            pitch: 100,
            velocity: 0.0,
            noteId: -1,
            tuning: 0.0,
        };
        // SAFETY: the plugin gives a valid place.
        unsafe {
            event.write(Event {
                busIndex: 0,
                sampleOffset: index,
                ppqPosition: 0.0,
                flags: 0,
                r#type: 1,
                __field0: Event__type0 { noteOff: off },
            });
        }
        kResultOk
    }

    unsafe fn addEvent(&self, _event: *mut Event) -> tresult {
        kResultFalse
    }
}

/// No changes.
struct Changes;

impl Class for Changes {
    type Interfaces = (IParameterChanges,);
}

impl IParameterChangesTrait for Changes {
    unsafe fn getParameterCount(&self) -> int32 {
        0
    }

    unsafe fn getParameterData(&self, _index: int32) -> *mut IParamValueQueue {
        std::ptr::null_mut()
    }

    unsafe fn addParameterData(&self, _: *const ParamID, _: *mut int32) -> *mut IParamValueQueue {
        std::ptr::null_mut()
    }
}

/// The framework's object.
fn bare() -> ComPtr<IComponent> {
    let wrapper = ComWrapper::new(Wrapper::<Guidehand>::new());
    wrapper.to_com_ptr().expect("a component")
}

/// The object that hosts get.
fn guarded() -> ComPtr<IComponent> {
    // SAFETY: the factory is ours to own, the places are valid, and so is what is asked for.
    unsafe {
        let factory = guidehand::vst3::GetPluginFactory();
        let factory = ComPtr::<IPluginFactory>::from_raw(factory.cast()).expect("a factory");
        let mut class: PClassInfo = std::mem::zeroed();
        assert_eq!(factory.getClassInfo(0, &mut class), kResultOk);
        let mut made = std::ptr::null_mut();
        let id = IComponent::IID;
        let result = factory.createInstance(class.cid.as_ptr(), id.as_ptr().cast(), &mut made);
        assert_eq!(result, kResultOk);
        ComPtr::from_raw(made.cast()).expect("an instance")
    }
}

/// Bypasses an instance, so that it has little work of its own, and starts it.
fn start(component: &ComPtr<IComponent>) -> ComPtr<IAudioProcessor> {
    let controller: ComPtr<IEditController> = component.cast().expect("a controller");
    let processor: ComPtr<IAudioProcessor> = component.cast().expect("a processor");
    let mut setup = ProcessSetup {
        processMode: 0,
        symbolicSampleSize: 0,
        maxSamplesPerBlock: 64,
        sampleRate: 48_000.0,
    };
    // SAFETY: the interfaces and the places are valid.
    unsafe {
        for index in 0..controller.getParameterCount() {
            let mut info: ParameterInfo = std::mem::zeroed();
            assert_eq!(controller.getParameterInfo(index, &mut info), kResultOk);
            #[allow(
                clippy::allow_attributes,
                clippy::unnecessary_cast,
                clippy::cast_possible_wrap,
                reason = "the constant has another type on every platform"
            )]
            if info.flags & ParameterFlags_::kIsBypass as int32 != 0 {
                assert_eq!(controller.setParamNormalized(info.id, 1.0), kResultOk);
            }
        }
        assert_eq!(processor.setupProcessing(&mut setup), kResultOk);
        assert_eq!(component.setActive(1), kResultOk);
        assert_eq!(processor.setProcessing(1), kResultOk);
    }
    processor
}

/// What the host passes for the side-chain.
#[derive(Clone, Copy, PartialEq, Eq)]
enum SideChain {
    Whole,
    Inactive,
    NullChannels,
}

fn measure(name: &str, side_chain: SideChain, events: int32, with_bare: bool) {
    let mut samples = [[0.0_f32; FRAMES]; 4];
    let mut channels = samples.each_mut().map(|channel| channel.as_mut_ptr());
    if side_chain == SideChain::NullChannels {
        channels[0] = std::ptr::null_mut();
        channels[1] = std::ptr::null_mut();
    }
    let (inputs, outputs) = channels.split_at_mut(2);
    let bus = |channels: &mut [*mut f32]| AudioBusBuffers {
        numChannels: 2,
        silenceFlags: 0,
        __field0: AudioBusBuffers__type0 {
            channelBuffers32: channels.as_mut_ptr(),
        },
    };
    let (mut input, mut output) = (bus(inputs), bus(outputs));
    if side_chain == SideChain::Inactive {
        input.__field0.channelBuffers32 = std::ptr::null_mut();
    }
    let [events_in, events_out] = [events, 0].map(|count| ComWrapper::new(Events(count)));
    let [changes_in, changes_out] = [(), ()].map(|()| ComWrapper::new(Changes));
    let list = |events: &ComWrapper<Events>| events.as_com_ref().map(|list| list.as_ptr());
    let changes = |of: &ComWrapper<Changes>| of.as_com_ref().map(|changes| changes.as_ptr());
    let mut data = ProcessData {
        processMode: 0,
        symbolicSampleSize: 0,
        numSamples: 64,
        numInputs: 1,
        numOutputs: 1,
        inputs: &mut input,
        outputs: &mut output,
        inputParameterChanges: changes(&changes_in).expect("changes"),
        outputParameterChanges: changes(&changes_out).expect("changes"),
        inputEvents: list(&events_in).expect("a list"),
        outputEvents: list(&events_out).expect("a list"),
        processContext: std::ptr::null_mut(),
    };
    let (bare, guarded) = (bare(), guarded());
    let (bare, guarded) = (start(&bare), start(&guarded));
    let mut turn = |processor: &ComPtr<IAudioProcessor>| {
        let start = Instant::now();
        for _ in 0..BLOCKS {
            // SAFETY: everything that the data points to outlives the call.
            let result = unsafe { processor.process(&mut data) };
            assert_eq!(result, kResultOk);
        }
        start.elapsed()
    };
    let mut times: [Vec<Duration>; 2] = Default::default();
    for _ in 0..TURNS {
        times[0].push(if with_bare {
            turn(&bare)
        } else {
            Duration::ZERO
        });
        times[1].push(turn(&guarded));
    }
    let [bare, guarded] = times.map(|mut times| {
        times.sort_unstable();
        times[TURNS / 2].as_secs_f64() * 1e9 / f64::from(BLOCKS)
    });
    if with_bare {
        let added = guarded - bare;
        println!("{name:<32} {bare:>8.1} {guarded:>8.1} {added:>8.1}");
    } else {
        println!("{name:<32} {:>8} {guarded:>8.1}", "crashes");
    }
}

fn main() {
    // Cargo hands `--bench` on to every benchmark.
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with("--"))
        .collect();
    let parts = [
        ("vst3_guard/whole", SideChain::Whole, 0, true),
        (
            "vst3_guard/inactive_side_chain",
            SideChain::Inactive,
            0,
            true,
        ),
        ("vst3_guard/sixteen_events", SideChain::Whole, 16, true),
        (
            "vst3_guard/null_channels",
            SideChain::NullChannels,
            0,
            false,
        ),
    ];
    let is_chosen =
        |name: &str| words.is_empty() || words.iter().any(|word| name.contains(word.as_str()));
    println!(
        "{:<32} {:>8} {:>8} {:>8}",
        "ns a block", "bare", "guarded", "guard"
    );
    for (name, side_chain, events, with_bare) in parts {
        if is_chosen(name) {
            measure(name, side_chain, events, with_bare);
        }
    }
}
