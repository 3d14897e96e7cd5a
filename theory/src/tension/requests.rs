//! What the player asks of tensions. Imports nothing; the folder of `tension` imports it.

/// What the player asks of the ninth of open dominants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum NinthRequest {
    /// Chosen from where the chord goes.
    #[default]
    ByContext,
    /// 9
    Nine,
    /// b9
    Flat9,
    /// #9
    Sharp9,
}

/// What the player asks of the eleventh of open dominants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum EleventhRequest {
    /// Chosen from where the chord goes.
    #[default]
    ByContext,
    /// No eleventh.
    None,
    /// #11
    Sharp11,
}

/// What the player asks of the thirteenth of open dominants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum ThirteenthRequest {
    /// Chosen from where the chord goes.
    #[default]
    ByContext,
    /// No thirteenth. The fifth sounds instead.
    None,
    /// 13
    Thirteen,
    /// b13
    Flat13,
}

/// What the player asks of the ninth of chords that are not dominants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum PlainNinthRequest {
    /// As the chord takes it by itself.
    #[default]
    ByContext,
    /// No ninth. The root or another chord tone takes its slot.
    None,
    /// 9
    Nine,
}

/// What the player asks of the eleventh of minor, half-diminished and suspended
/// chords.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MinorEleventhRequest {
    /// As the chord takes it by itself.
    #[default]
    ByContext,
    /// No eleventh.
    None,
    /// 11
    Eleven,
}

/// What the player asks of the eleventh of major chords.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MajorEleventhRequest {
    /// As the chord takes it by itself.
    #[default]
    ByContext,
    /// No eleventh.
    None,
    /// #11
    Sharp11,
}

/// What the player asks of the seventh of a major tonic.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MajorTonicRequest {
    /// As the symbol says. A triad takes its sixth.
    #[default]
    ByContext,
    /// 6, for 6/9
    Six,
    /// 7, for maj7
    Seven,
}

/// What the player asks of the seventh of a minor tonic.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MinorTonicRequest {
    /// As the symbol says. A triad takes its sixth.
    #[default]
    ByContext,
    /// 6, for m6/9
    Six,
    /// b7, for m7
    Flat7,
    /// 7, for m(maj7)
    Seven,
}

/// What the player asks of chords, family by family. Degrees that a symbol writes are always
/// kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct TensionRequests {
    /// The ninths of open dominants.
    pub ninth: NinthRequest,
    /// The elevenths of open dominants.
    pub eleventh: EleventhRequest,
    /// The thirteenths of open dominants.
    pub thirteenth: ThirteenthRequest,
    /// The ninths of chords that are not dominants.
    pub plain_ninth: PlainNinthRequest,
    /// The elevenths of minor, half-diminished and suspended chords.
    pub minor_eleventh: MinorEleventhRequest,
    /// The elevenths of major chords.
    pub major_eleventh: MajorEleventhRequest,
    /// The sixth or seventh of major tonics.
    pub major_tonic: MajorTonicRequest,
    /// The sixth or seventh of minor tonics.
    pub minor_tonic: MinorTonicRequest,
}
