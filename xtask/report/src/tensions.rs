//! What can be asked of tensions in words: the options of a command, the plugin's parameters, and the
//! theory's requests. Imports the theory; the request imports it.

use guidehand_theory::tension::{
    EleventhRequest, MajorEleventhRequest, MajorTonicRequest, MinorEleventhRequest,
    MinorTonicRequest, NinthRequest, PlainNinthRequest, TensionRequests, ThirteenthRequest,
};

/// A word that can be asked for, and the request that it means.
type Choice = (&'static str, fn(&mut TensionRequests));

/// One option.
#[derive(Clone, Copy, Debug)]
pub struct TensionOption {
    /// Its name in a command, without hyphens before it.
    pub name: &'static str,
    /// The plugin's parameter.
    pub parameter: &'static str,
    choices: &'static [Choice],
}

impl TensionOption {
    /// The words that can be asked for, as the plugin's parameter has them.
    pub fn words(&self) -> impl Iterator<Item = &'static str> {
        self.choices.iter().map(|(words, _)| *words)
    }

    /// Puts what a word asks for into the requests. Returns the parameter's word, or none if there
    /// is no such word.
    pub fn ask(&self, word: &str, requests: &mut TensionRequests) -> Option<&'static str> {
        let named = |(words, _): &&Choice| words.eq_ignore_ascii_case(word);
        let (words, put) = self.choices.iter().find(named)?;
        put(requests);
        Some(words)
    }
}

/// All options.
pub const TENSIONS: [TensionOption; 8] = [
    TensionOption {
        name: "ninth",
        parameter: "Ninth",
        choices: &[
            ("9", |all| all.ninth = NinthRequest::Nine),
            ("b9", |all| all.ninth = NinthRequest::Flat9),
            ("#9", |all| all.ninth = NinthRequest::Sharp9),
        ],
    },
    TensionOption {
        name: "eleventh",
        parameter: "Eleventh",
        choices: &[
            ("None", |all| all.eleventh = EleventhRequest::None),
            ("#11", |all| all.eleventh = EleventhRequest::Sharp11),
        ],
    },
    TensionOption {
        name: "thirteenth",
        parameter: "Thirteenth",
        choices: &[
            ("None", |all| all.thirteenth = ThirteenthRequest::None),
            ("13", |all| all.thirteenth = ThirteenthRequest::Thirteen),
            ("b13", |all| all.thirteenth = ThirteenthRequest::Flat13),
        ],
    },
    TensionOption {
        name: "plain-ninth",
        parameter: "Ninth on other chords",
        choices: &[
            ("None", |all| all.plain_ninth = PlainNinthRequest::None),
            ("9", |all| all.plain_ninth = PlainNinthRequest::Nine),
        ],
    },
    TensionOption {
        name: "minor-eleventh",
        parameter: "Eleventh on minor chords",
        choices: &[
            ("None", |all| {
                all.minor_eleventh = MinorEleventhRequest::None
            }),
            ("11", |all| {
                all.minor_eleventh = MinorEleventhRequest::Eleven
            }),
        ],
    },
    TensionOption {
        name: "major-eleventh",
        parameter: "Eleventh on major chords",
        choices: &[
            ("None", |all| {
                all.major_eleventh = MajorEleventhRequest::None
            }),
            ("#11", |all| {
                all.major_eleventh = MajorEleventhRequest::Sharp11
            }),
        ],
    },
    TensionOption {
        name: "major-tonic",
        parameter: "Major tonic",
        choices: &[
            ("6", |all| all.major_tonic = MajorTonicRequest::Six),
            ("maj7", |all| all.major_tonic = MajorTonicRequest::Seven),
        ],
    },
    TensionOption {
        name: "minor-tonic",
        parameter: "Minor tonic",
        choices: &[
            ("6", |all| all.minor_tonic = MinorTonicRequest::Six),
            ("b7", |all| all.minor_tonic = MinorTonicRequest::Flat7),
            ("m(maj7)", |all| all.minor_tonic = MinorTonicRequest::Seven),
        ],
    },
];
