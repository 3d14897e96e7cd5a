use guidehand_theory::key::{self, Key};
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::slash;
use guidehand_theory::symbol;
use guidehand_theory::under::{self, Struck, Taste};

#[test]
fn table() {
    for (k, text, next) in [("C","Cmaj7",""),("C","Fmaj7",""),("C","Dm7",""),("C","Em7",""),("C","G7","Cmaj7"),("C minor","G7","Cm7"),("C","Db7","Cmaj7"),("C minor","Cm",""),("C minor","Cm7",""),("C minor","Cm(maj7)",""),("C minor","Dm7b5",""),("C","Bdim7",""),("C","G7alt","Cmaj7"),("C","G7sus4","Cmaj7"),("C","F/G","Cmaj7"),("C","Caug",""),("C","C(add9)",""),("C","D/C7",""),("C","Cmaj7#5",""),("C","Cmaj9#11",""),("C","Dm11",""),("C","C/E","")] {
        let written = symbol::parse(text).unwrap();
        let chord = slash::meant(&written);
        let key = Key::parse(k).unwrap();
        let function = if next.is_empty() { key::live(&chord, key) } else {
            let n = symbol::parse(next).unwrap();
            key::analyse(&[Some(chord), Some(n), Some(n)], Some(key))[0].unwrap()
        };
        let placed = ChordInKey { chord, written, function };
        println!("{text} in {k} -> {next}");
        for m in 72..84 {
            let b = under::step(&Taste::default(), None, Struck{note: MidiNote::new(m).unwrap(), fast:false}, Some(&placed.into()));
            let root = b.root.unwrap();
            let v: Vec<String> = b.voicing.voices().iter().rev().map(|v| format!("{}({})", v.degree.over(root), v.degree)).collect();
            let i: Vec<String> = b.instead.iter().map(ToString::to_string).collect();
            println!("   {:40} {} | {}", v.join(" "), b.rule, i.join(", "));
        }
    }
    panic!();
}
