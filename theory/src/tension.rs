//! Tensions: what a symbol asks for, what the player asks for, and what is chosen if both leave
//! it open, with the reason. Imports `chord`, `key` and what is above them.

mod above;
mod agree;
mod choices;
mod dominant;
mod guides;
mod over_bass;
mod plain;
mod reason;
mod requests;
mod resolve;
mod sounding;
mod substitutes;
#[cfg(test)]
mod tests;
mod yields;

pub use above::Above;
pub use agree::{Agreed, against, agree, agree_wholly, name_over, names_the_chord};
pub use choices::{Choices, Tensions};
pub(crate) use over_bass::is_against;
pub use reason::Reason;
pub use requests::{
    EleventhRequest, MajorEleventhRequest, MajorTonicRequest, MinorEleventhRequest,
    MinorTonicRequest, NinthRequest, PlainNinthRequest, TensionRequests, ThirteenthRequest,
};
pub use resolve::{of, resolve};
pub use sounding::{sounding, with_seventh};
pub use yields::{Against, Outcome, Yield, Yields};
