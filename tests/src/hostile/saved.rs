//! Saved states. Imports the host, and `check` and `state`.

use crate::host::Host;
use crate::library::Library;
use crate::paths::PLUGIN_ID;
use crate::session::{Session, render};
use crate::soak::check;
use crate::state;
use crate::transport::TransportChange;

/// The length of the performance, in samples, and where the song stops in it.
const PLAYED: u64 = 4_096;
const STOP: u64 = 3_000;

/// Reads a state: the JSON without its length. The bytes themselves must do no harm either.
///
/// # Panics
/// If a refused state changes something, or if an accepted state puts a parameter out of its range,
/// does not come back as it was saved, or lets notes hang.
pub fn state(library: &Library, bytes: &[u8]) {
    let mut host = instance(library);
    let _whatever = host.load_state(bytes);
    let mut host = instance(library);
    let before = saved(&mut host);
    if host.load_state(&state::framed(bytes)).is_err() {
        assert!(
            saved(&mut host) == before,
            "a refused state has changed the instance"
        );
        return;
    }
    for param in host.params().to_vec() {
        let value = host.param_value(param.id);
        let value = value.unwrap_or_else(|error| panic!("{error}"));
        assert!(
            (param.min..=param.max).contains(&value),
            "{value}: {param:?}"
        );
    }
    let taken = saved(&mut host);
    let mut other = instance(library);
    let loaded = other.load_state(&taken);
    loaded.unwrap_or_else(|error| panic!("its own state: {error}"));
    let again = saved(&mut other);
    let words = |state: &[u8]| String::from_utf8_lossy(state).into_owned();
    assert_eq!(words(&again), words(&taken));

    let mut session = Session::new(48_000.0, 2_000.0, PLAYED);
    session.change(STOP, TransportChange::Stop);
    let performance = render(&mut other, &session);
    let performance = performance.unwrap_or_else(|error| panic!("{error}"));
    check::audio(&performance).unwrap_or_else(|fault| panic!("{fault}"));
    check::notes(&performance.events).unwrap_or_else(|fault| panic!("{fault}"));
}

fn instance(library: &Library) -> Host {
    Host::load(library, PLUGIN_ID).unwrap_or_else(|error| panic!("{error}"))
}

fn saved(host: &mut Host) -> Vec<u8> {
    host.save_state().unwrap_or_else(|error| panic!("{error}"))
}
