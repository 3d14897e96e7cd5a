//! The pages for the eight knobs of a controller.

use super::instance;
use clap_sys::ext::params::{CLAP_PARAM_IS_AUTOMATABLE, CLAP_PARAM_IS_BYPASS};
use clap_sys::id::CLAP_INVALID_ID;
use guidehand_tests::raw::info::{self, ControlPage};
use guidehand_tests::raw::{Instance, params};
use std::collections::HashSet;

fn pages(instance: &Instance) -> Vec<ControlPage> {
    let page = |index| info::page(instance, index).expect("a page that was counted");
    (0..info::page_count(instance)).map(page).collect()
}

#[test]
fn pages_have_ids_and_names_of_their_own() {
    let instance = instance();
    let pages = pages(&instance);
    assert!(!pages.is_empty());
    let ids: HashSet<u32> = pages.iter().map(|page| page.id).collect();
    let names: HashSet<&String> = pages.iter().map(|page| &page.name).collect();
    assert_eq!((ids.len(), names.len()), (pages.len(), pages.len()));
    for page in &pages {
        assert!(
            !page.section.is_empty() && !page.name.is_empty(),
            "{page:?}"
        );
        assert!(
            page.id != CLAP_INVALID_ID && !page.is_for_preset,
            "{page:?}"
        );
    }
    // The pages of a section follow each other.
    let mut sections: Vec<&String> = pages.iter().map(|page| &page.section).collect();
    sections.dedup();
    let different: HashSet<&&String> = sections.iter().collect();
    assert_eq!(different.len(), sections.len(), "{sections:?}");
    let count = u32::try_from(pages.len()).unwrap();
    assert_eq!(info::page(&instance, count), None);
}

#[test]
fn knobs_are_parameters_that_can_be_turned() {
    let instance = instance();
    let params = params::all(&instance);
    for page in pages(&instance) {
        let knobs = page.params.iter().filter(|id| **id != CLAP_INVALID_ID);
        let different: HashSet<&u32> = knobs.clone().collect();
        assert!(!different.is_empty(), "{page:?}");
        assert_eq!(different.len(), knobs.clone().count(), "twice on {page:?}");
        for knob in knobs {
            let param = params.iter().find(|param| param.id == *knob);
            let param = param.unwrap_or_else(|| panic!("{knob} of {page:?}"));
            assert!(param.has(CLAP_PARAM_IS_AUTOMATABLE), "{param:?}");
        }
    }
}

/// No page has bypass, because hosts have their own button for it.
#[test]
fn every_parameter_but_bypass_has_a_knob() {
    let instance = instance();
    let knobs: HashSet<u32> = pages(&instance)
        .iter()
        .flat_map(|page| page.params)
        .collect();
    let without: Vec<String> = params::all(&instance)
        .into_iter()
        .filter(|param| param.has(CLAP_PARAM_IS_AUTOMATABLE) && !param.has(CLAP_PARAM_IS_BYPASS))
        .filter(|param| !knobs.contains(&param.id))
        .map(|param| param.name)
        .collect();
    assert!(
        without.is_empty(),
        "not in plugin/src/host/controls.rs: {without:?}"
    );
}

#[test]
fn the_first_page_holds_the_tensions() {
    let instance = instance();
    let first = &pages(&instance)[0];
    assert_eq!(
        (first.section.as_str(), first.name.as_str()),
        ("Harmony", "Tensions")
    );
    for name in ["Ninth", "Eleventh", "Thirteenth"] {
        let id = params::named(&instance, name).id;
        assert!(first.params.contains(&id), "{name}");
    }
}
