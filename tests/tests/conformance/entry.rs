//! The way into the library, its factory, and the plugin's description. What a scan
//! costs beside the pass-through plugin is measured by the benchmark `side_by_side`.

use super::{ID, instance, library};
use clap_sys::plugin_features::{
    CLAP_PLUGIN_FEATURE_ANALYZER, CLAP_PLUGIN_FEATURE_AUDIO_EFFECT, CLAP_PLUGIN_FEATURE_INSTRUMENT,
    CLAP_PLUGIN_FEATURE_NOTE_DETECTOR, CLAP_PLUGIN_FEATURE_NOTE_EFFECT, CLAP_PLUGIN_FEATURE_STEREO,
};
use clap_sys::version::clap_version_is_compatible;
use guidehand_tests::raw::{self, Instance, Knows, info};
use std::collections::HashSet;
use std::ffi::CStr;

#[test]
fn a_library_has_one_factory_of_one_plugin() {
    let library = library();
    assert!(clap_version_is_compatible(
        raw::entry(&library).clap_version
    ));
    assert!(raw::factory(&library, c"clap.plugin-factory").is_some());
    for none in [
        c"",
        c"clap.plugin-factory/2",
        c"clap.plugin-factor",
        c"clap.preset-discovery-factory/2",
        c"org.guidehand.guidehand",
    ] {
        assert_eq!(raw::factory(&library, none), None, "{none:?}");
    }
    assert_eq!(info::plugin_count(&library), 1);
    assert!(info::described_by_library(&library, 0).is_some());
    assert_eq!(info::described_by_library(&library, 1), None);
    assert_eq!(info::described_by_library(&library, u32::MAX), None);
}

#[test]
fn only_its_own_id_makes_a_plugin() {
    let library = library();
    for other in [
        c"",
        c"org.guidehand",
        c"org.guidehand.guidehand ",
        c"org.guidehand.guidehand.2",
        c"ORG.GUIDEHAND.GUIDEHAND",
    ] {
        assert!(
            Instance::new(&library, other, Knows::All).is_none(),
            "{other:?}"
        );
    }
    assert!(Instance::new(&library, ID, Knows::All).is_some());
}

/// Validators ask for extensions before they initialise a plugin, and give it up before it is active.
/// `clap/plugin.h` forbids the first; what is answered stays true afterwards.
#[test]
fn a_plugin_that_is_not_initialised_answers_and_goes() {
    let library = library();
    drop(Instance::created(&library, ID, Knows::All).unwrap());
    let [first, second] = [(); 2].map(|()| Instance::created(&library, ID, Knows::All).unwrap());
    for id in [
        c"clap.params",
        c"clap.state",
        c"clap.audio-ports",
        c"clap.gui",
    ] {
        let found = first.extension(id);
        assert!(found.is_some() && found == first.extension(id), "{id:?}");
        assert_ne!(found, second.extension(id), "{id:?} is the instance's own");
    }
    assert_eq!(first.extension(c"org.guidehand.none"), None);
    drop(first);
    assert!(second.extension(c"clap.params").is_some());
}

/// Texts that a host may use are present or left out, but required texts are never blank.
#[test]
fn the_description_is_complete() {
    let found = info::described_by_library(&library(), 0).unwrap();
    assert!(clap_version_is_compatible(found.clap));
    for needed in ["id", "name", "vendor", "version", "description"] {
        let text = found.text(needed);
        assert!(!text.is_empty(), "no {needed}");
        assert_eq!(text.trim(), text, "{needed}");
        assert!(!text.chars().any(char::is_control), "{needed}: {text:?}");
    }
    let id = found.text("id");
    assert_eq!(id.as_bytes(), ID.to_bytes());
    assert!(
        id.split('.').count() >= 3,
        "in reverse domain notation: {id}"
    );
    assert!(
        id.bytes()
            .all(|byte| byte.is_ascii_alphanumeric() || b".-_".contains(&byte))
    );
    let numbers: Vec<&str> = found.text("version").split('.').collect();
    assert_eq!(numbers.len(), 3);
    assert!(numbers.iter().all(|number| number.parse::<u32>().is_ok()));
    for link in ["url", "manual", "support"] {
        let link = found.text(link);
        assert!(link.is_empty() || link.starts_with("https://"), "{link}");
    }
}

#[test]
fn the_features_say_what_it_is() {
    let found = info::described_by_library(&library(), 0).unwrap();
    let has = |feature: &CStr| {
        let feature = feature.to_str().unwrap();
        found.features.iter().any(|found| found == feature)
    };
    assert!(has(CLAP_PLUGIN_FEATURE_NOTE_EFFECT));
    // The plugin has audio outputs, and makes sound by itself.
    assert!(has(CLAP_PLUGIN_FEATURE_INSTRUMENT) && has(CLAP_PLUGIN_FEATURE_STEREO));
    for other in [
        CLAP_PLUGIN_FEATURE_AUDIO_EFFECT,
        CLAP_PLUGIN_FEATURE_ANALYZER,
        CLAP_PLUGIN_FEATURE_NOTE_DETECTOR,
    ] {
        assert!(!has(other), "{other:?}");
    }
    let different: HashSet<&String> = found.features.iter().collect();
    assert_eq!(different.len(), found.features.len(), "{found:?}");
}

#[test]
fn an_instance_describes_itself_as_its_library_does() {
    let of_library = info::described_by_library(&library(), 0);
    assert_eq!(info::described_by_plugin(&instance()), of_library);
}

/// Hosts with several scanners begin and end a library more than once.
#[test]
fn a_library_begins_again_while_it_is_in_use() {
    let library = library();
    let in_use = instance();
    let entry = raw::entry(&library);
    for _ in 0..3 {
        // SAFETY: the path ends with a null; each beginning is followed by its end.
        unsafe {
            assert!(entry.init.unwrap()(c"/plugins/guidehand.clap".as_ptr()));
            entry.deinit.unwrap()();
        }
    }
    assert_eq!(info::plugin_count(&library), 1);
    assert!(!raw::params::all(&in_use).is_empty());
    drop(instance());
}
