//! Which ports are complete, and what they are completed with.

use super::*;

const DECLARED: Declared = Declared {
    inputs: [2, 0, 0, 0],
    outputs: [2, 2, 0, 0],
};

fn buffer(channels: &mut [*mut f32]) -> clap_audio_buffer {
    clap_audio_buffer {
        data32: channels.as_mut_ptr(),
        data64: ptr::null_mut(),
        channel_count: u32::try_from(channels.len()).unwrap(),
        latency: 7,
        constant_mask: 1,
    }
}

#[test]
fn ports_come_back_from_their_bits() {
    for declared in [
        DECLARED,
        Declared {
            inputs: [0; 4],
            outputs: [0; 4],
        },
        Declared {
            inputs: [8; 4],
            outputs: [8; 4],
        },
    ] {
        assert_ne!(declared.bits(), 0);
        assert_eq!(Declared::from_bits(declared.bits()), Some(declared));
    }
    assert_eq!(Declared::from_bits(0), None);
    assert_eq!(DECLARED.output_channels(), 4);
}

#[test]
fn only_all_channels_of_all_ports_are_all() {
    let mut samples = [[0.0_f32; 4]; 3];
    let mut whole = samples.each_mut().map(|s| s.as_mut_ptr());
    let mut half = [whole[0], ptr::null_mut()];
    let one = [buffer(&mut whole[..2])];
    let fits = |buffers: &[clap_audio_buffer]| {
        let ports = Ports::new(buffers.as_ptr(), u32::try_from(buffers.len()).unwrap());
        // SAFETY: there are as many buffers and channels as counted.
        unsafe { are_all_in([2, 0, 0, 0], ports) }
    };
    assert!(fits(&one));
    assert!(!fits(&[]));
    assert!(!fits(&[one[0], one[0]]));
    assert!(!fits(&[buffer(&mut whole[..1])]));
    assert!(!fits(&[buffer(&mut whole)]));
    assert!(!fits(&[buffer(&mut half)]));
    assert!(!fits(&[clap_audio_buffer {
        data32: ptr::null_mut(),
        ..one[0]
    }]));
    // SAFETY: a null list counts as empty.
    assert!(!unsafe { are_all_in([2, 0, 0, 0], Ports::new(ptr::null(), 1)) });
}

#[test]
fn missing_channels_are_completed_and_given_ones_are_kept() {
    let mut samples = [0.5_f32; 4];
    let mut half = [ptr::null_mut(), samples.as_mut_ptr()];
    let given = [buffer(&mut half)];
    let host = Ports::new(given.as_ptr(), 1);
    let mut scratch = Scratch::new(4, 4);
    let (mut inputs, mut outputs) = (Completed::empty(), Completed::empty());
    // SAFETY: there are as many buffers and channels as counted.
    let (ins, outs) = unsafe {
        (
            inputs.inputs(DECLARED, host, &mut scratch, 4),
            outputs.outputs(DECLARED, host, &mut scratch),
        )
    };
    assert_eq!((ins.1, outs.1), (1, 2));
    // SAFETY: there are as many buffers as counted, with the channels that are declared.
    let (ins, outs) = unsafe {
        (
            std::slice::from_raw_parts(ins.0, 1),
            std::slice::from_raw_parts(outs.0, 2),
        )
    };
    let pointers = |buffer: &clap_audio_buffer| {
        assert_eq!(buffer.channel_count, 2);
        // SAFETY: it has two channels.
        unsafe { [*buffer.data32, *buffer.data32.add(1)] }
    };
    let [silent, kept] = pointers(&ins[0]);
    assert_eq!(kept, samples.as_mut_ptr());
    // SAFETY: it has four samples.
    assert_eq!(unsafe { std::slice::from_raw_parts(silent, 4) }, [0.0; 4]);
    assert_eq!((ins[0].latency, ins[0].constant_mask), (7, 1));
    let [first, kept] = pointers(&outs[0]);
    assert_eq!(kept, samples.as_mut_ptr());
    let mut bins = vec![first, pointers(&outs[1])[0], pointers(&outs[1])[1], silent];
    bins.sort();
    bins.dedup();
    assert_eq!(bins.len(), 4, "no two outputs share a channel");
}

#[test]
fn what_nobody_fills_is_silenced() {
    let mut samples = [[f32::NAN; 4]; 5];
    let mut doubles = [[f64::NAN; 4]; 2];
    let [a, b, c, d, e] = samples.each_mut().map(|s| s.as_mut_ptr());
    let (mut first, mut third) = ([a, b, c, ptr::null_mut()], [d, e]);
    let mut second = doubles.each_mut().map(|s| s.as_mut_ptr());
    let buffers = [
        buffer(&mut first),
        clap_audio_buffer {
            data32: ptr::null_mut(),
            data64: second.as_mut_ptr(),
            ..buffer(&mut third)
        },
        buffer(&mut third),
    ];
    // SAFETY: there are as many buffers and channels as counted, of four samples each.
    unsafe { silence_the_rest(DECLARED, Ports::new(buffers.as_ptr(), 3), 4, 3) };
    let [a, b, c, d, e] = samples;
    for filled in [a, b] {
        assert!(filled[..3].iter().all(|s| s.is_nan()));
        assert_eq!(filled[3], 0.0);
    }
    assert_eq!([c, d, e], [[0.0; 4]; 3]);
    assert_eq!(doubles, [[0.0; 4]; 2]);
}
