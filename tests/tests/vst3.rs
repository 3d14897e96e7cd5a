//! The VST3 build as a host finds it: the factory, units and mappings. The other `vst3_*` modules
//! share its bundle, its instance and its chart.

use guidehand_tests::vst3::{Instance, Module, bundle};
use guidehand_tests::{Event, HostError, TimedEvent, paths, state};
use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use vst3::Steinberg::Vst::ChannelContext::IInfoListener;
use vst3::Steinberg::Vst::{
    IAudioProcessor, IComponent, IEditController, IMidiMapping, INoteExpressionController,
    INoteExpressionControllerTrait, IProcessContextRequirements, IUnitInfo, IUnitInfoTrait,
    NoteExpressionTypeInfo,
};
use vst3::Steinberg::{FUnknown, IPlugView, IPluginFactoryTrait, PClassInfo, kResultOk};
use vst3::com_scrape_types::Unknown;
use vst3::{ComPtr, Interface};

/// The class id as the plugin has it. Windows has the first eight bytes in another order.
const CLASS: &[u8; 16] = b"GuidehandVoicing";

/// The built plugin, laid out as hosts find it.
pub fn bundle() -> &'static Path {
    static BUNDLE: OnceLock<PathBuf> = OnceLock::new();
    BUNDLE.get_or_init(|| {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("vst3");
        bundle::lay_out(&paths::plugin_path(), &folder)
            .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
    })
}

pub fn module() -> Module {
    Module::open(bundle()).unwrap_or_else(|error| panic!("{error}"))
}

/// A fresh instance, as it starts.
pub fn untouched() -> Instance {
    let module = module();
    let class = module.classes().unwrap().remove(0);
    Instance::load(&module, &class.id).unwrap_or_else(|error| panic!("{error}"))
}

/// An instance whose chords come from roots, without its audition tone.
pub fn mute() -> Instance {
    let mut instance = untouched();
    set(&mut instance, "Chords from", "Roots");
    set(&mut instance, "Audition tone", "Off");
    instance
}

/// Sets a parameter in words, as a user types them.
pub fn set(instance: &mut Instance, name: &str, words: &str) {
    let id = instance.param_by_name(name).unwrap().id;
    let value = instance.text_to_value(id, words).unwrap();
    instance.set_param(id, value).unwrap();
}

/// Gives an instance another chart through its state, which is the only way.
pub fn load_chart(instance: &mut Instance, text: &str) {
    let state = as_clap(&instance.save_state().unwrap());
    let state = state::with_chart(&state, text);
    instance.load_state(as_vst3(&state)).unwrap();
}

/// The CLAP build's state is this state after its length.
pub fn as_clap(state: &[u8]) -> Vec<u8> {
    let length = (state.len() as u64).to_le_bytes();
    [&length[..], state].concat()
}

pub fn as_vst3(clap: &[u8]) -> &[u8] {
    &clap[8..]
}

/// Strikes and releases a key of the left hand in one block.
pub fn root() -> [TimedEvent; 2] {
    [
        TimedEvent::new(3, Event::note_on(0, 48, 0.75)),
        TimedEvent::new(60, Event::note_off(0, 48)),
    ]
}

/// The number of keys that are struck.
pub fn struck(events: &[TimedEvent]) -> usize {
    let is_on = |event: &&TimedEvent| matches!(event.event, Event::NoteOn { .. });
    events.iter().filter(is_on).count()
}

#[test]
fn the_factory_describes_one_class() {
    let module = module();
    assert_eq!(module.maker().unwrap()[0], "Guidehand");
    let classes = module.classes().unwrap();
    assert_eq!(classes.len(), 1);
    let class = &classes[0];
    if !cfg!(windows) {
        assert_eq!(&class.id, CLASS);
    }
    assert_eq!(class.name, "Guidehand");
    assert_eq!(class.vendor, "Guidehand");
    assert_eq!(class.category, "Audio Module Class");
    assert_eq!(class.subcategories, "Instrument|Tools");
    assert_eq!(class.version, env!("CARGO_PKG_VERSION"));
    assert!(class.sdk_version.starts_with("VST 3."), "{class:?}");
    assert_eq!(class.cardinality, i32::MAX, "as many instances as wanted");
}

#[test]
fn the_factory_refuses_what_it_does_not_have() {
    let module = module();
    for index in [-1, 1, i32::MAX] {
        // SAFETY: zeros are a valid value of plain numbers, and the place is valid.
        let result = unsafe {
            let mut info: PClassInfo = std::mem::zeroed();
            module.factory().getClassInfo(index, &mut info)
        };
        assert_ne!(result, kResultOk, "class {index}");
    }
    let known = module.classes().unwrap()[0].id;
    assert!(module.create::<IComponent>(&[7; 16]).is_err());
    assert!(module.create::<IPlugView>(&known).is_err());
    let processor: Result<ComPtr<IAudioProcessor>, _> = module.create(&known);
    assert!(processor.is_ok());
}

#[test]
fn a_bundle_without_a_library_does_not_load() {
    let nowhere = bundle().with_file_name("Nothing.vst3");
    assert!(matches!(
        Module::open(&nowhere),
        Err(HostError::Open { .. })
    ));
}

#[test]
fn units_and_programs_agree_with_the_parameters() {
    let instance = untouched();
    let units: ComPtr<IUnitInfo> = instance.cast().expect("an IUnitInfo");
    // SAFETY: the interface is valid, and `info` a valid place.
    let ids: HashSet<i32> = unsafe {
        assert_eq!(units.getProgramListCount(), 0);
        let all = 0..units.getUnitCount();
        all.map(|index| {
            let mut info: vst3::Steinberg::Vst::UnitInfo = std::mem::zeroed();
            assert_eq!(units.getUnitInfo(index, &mut info), kResultOk);
            info.id
        })
        .collect()
    };
    for param in instance.params() {
        let unit = param.unit_id;
        assert!(unit == 0 || ids.contains(&unit), "{param:?}");
    }
}

#[test]
fn expressions_of_notes_have_the_numbers_of_the_interface() {
    let instance = untouched();
    let expressions: ComPtr<INoteExpressionController> = instance.cast().expect("expressions");
    // SAFETY: the interface is valid, and `info` a valid place.
    let ids: Vec<u32> = unsafe {
        assert_eq!(expressions.getNoteExpressionCount(1, 0), 0, "no such bus");
        let count = expressions.getNoteExpressionCount(0, 0);
        let mut info: NoteExpressionTypeInfo = std::mem::zeroed();
        for index in [-1, count] {
            let result = expressions.getNoteExpressionInfo(0, 0, index, &mut info);
            assert_ne!(result, kResultOk, "expression {index}");
        }
        (0..count)
            .map(|index| {
                let result = expressions.getNoteExpressionInfo(0, 0, index, &mut info);
                assert_eq!(result, kResultOk);
                info.typeId
            })
            .collect()
    };
    assert_eq!(ids, [0, 1, 2, 3, 4, 5], "volume to brightness");
}

/// `queryInterface` as the rules of COM have it (`funknown.h` refers to them): from any interface to any
/// other and back, with one identity and one count.
#[test]
fn every_interface_leads_to_every_other_and_to_one_identity() {
    fn unknown<I: Interface>(instance: &Instance) -> ComPtr<FUnknown> {
        let interface: ComPtr<I> = instance.cast().expect("an interface of the plugin");
        // SAFETY: an interface begins as FUnknown does, and the pointer takes over the count.
        unsafe { ComPtr::from_raw(interface.into_raw().cast()).expect("it is not null") }
    }
    let instance = untouched();
    let interfaces = [
        unknown::<IComponent>(&instance),
        unknown::<IEditController>(&instance),
        unknown::<IAudioProcessor>(&instance),
        unknown::<IMidiMapping>(&instance),
        unknown::<INoteExpressionController>(&instance),
        unknown::<IProcessContextRequirements>(&instance),
        unknown::<IUnitInfo>(&instance),
        unknown::<IInfoListener>(&instance),
    ];
    let ids = [
        IComponent::IID,
        IEditController::IID,
        IAudioProcessor::IID,
        IMidiMapping::IID,
        INoteExpressionController::IID,
        IProcessContextRequirements::IID,
        IUnitInfo::IID,
        IInfoListener::IID,
    ];
    let ask = |from: &ComPtr<FUnknown>, id: &[u8; 16]| {
        // SAFETY: the interface is valid; what it gives is a new reference, which the pointer owns.
        unsafe {
            let found = <FUnknown as Unknown>::query_interface(from.as_ptr(), id);
            found.and_then(|found| ComPtr::<FUnknown>::from_raw(found.cast()))
        }
    };
    let identity = ask(&interfaces[0], &FUnknown::IID).unwrap().as_ptr();
    for from in &interfaces {
        assert_eq!(ask(from, &FUnknown::IID).unwrap().as_ptr(), identity);
        assert!(ask(from, &IPlugView::IID).is_none());
        for (id, to) in ids.iter().zip(&interfaces) {
            assert_eq!(ask(from, id).unwrap().as_ptr(), to.as_ptr());
        }
    }
    // SAFETY: the interfaces are valid, and each reference that is added is given back.
    let counts = interfaces.each_ref().map(|from| unsafe {
        let added = <FUnknown as Unknown>::add_ref(from.as_ptr());
        (added, <FUnknown as Unknown>::release(from.as_ptr()))
    });
    assert!(counts.iter().all(|count| *count == counts[0]), "{counts:?}");
    assert_eq!(counts[0].0, counts[0].1 + 1);
}

#[test]
fn every_controller_of_every_channel_has_a_parameter_of_its_own() {
    let instance = untouched();
    let own: HashSet<u32> = instance.own_params().map(|param| param.id).collect();
    let mut seen = HashSet::new();
    for channel in 0..16 {
        for controller in 0..130 {
            let id = instance.controller_id(channel, controller).unwrap();
            assert!(
                seen.insert(id) && !own.contains(&id),
                "{channel} {controller}"
            );
            let param = instance.param(id).unwrap();
            assert!(param.is_hidden(), "{param:?}");
            let number = usize::from(channel) + 1;
            assert!(param.name.contains(&format!("Ch. {number} ")), "{param:?}");
            // Hosts that ask every parameter for all of its texts know such names and pass them over
            // (common practice, no published source).
            assert!(param.name.starts_with("MIDI CC "), "{param:?}");
        }
    }
    assert_eq!(instance.params().len(), own.len() + seen.len());
    assert_eq!(instance.controller_id(16, 0), None);
    assert_eq!(instance.controller_id(0, 130), None);
}
