//! The stream in which a host keeps a state: memory that is read like a file, if requested in small
//! pieces. Imports the numbers of `vst3` only.

use super::number;
use std::cell::{Cell, RefCell};
use std::ffi::c_void;
use vst3::Steinberg::IBStream_::IStreamSeekMode_::{kIBSeekCur, kIBSeekEnd, kIBSeekSet};
use vst3::Steinberg::{
    IBStream, IBStreamTrait, int32, int64, kInvalidArgument, kResultFalse, kResultOk, tresult,
};
use vst3::{Class, ComWrapper};

/// A stream in memory.
#[derive(Debug, Default)]
pub struct Stream {
    bytes: RefCell<Vec<u8>>,
    position: Cell<usize>,
    /// How many bytes one call moves at most.
    piece: Option<usize>,
    /// Whether the stream reports and changes its position.
    seekable: bool,
}

impl Class for Stream {
    type Interfaces = (IBStream,);
}

impl Stream {
    /// An empty stream to write into.
    #[must_use]
    pub fn empty() -> ComWrapper<Self> {
        Self::holding(&[], 0)
    }

    /// A stream with content, read from a place in it, because some hosts put a header of their own
    /// before it.
    #[must_use]
    pub fn holding(bytes: &[u8], position: usize) -> ComWrapper<Self> {
        ComWrapper::new(Self {
            bytes: RefCell::new(bytes.to_vec()),
            position: Cell::new(position),
            piece: None,
            seekable: true,
        })
    }

    /// A stream that hands out at most this many bytes a call.
    #[must_use]
    pub fn in_pieces(bytes: &[u8], piece: usize) -> ComWrapper<Self> {
        ComWrapper::new(Self {
            bytes: RefCell::new(bytes.to_vec()),
            piece: Some(piece),
            seekable: true,
            ..Self::default()
        })
    }

    /// A stream that refuses to report or change its position.
    #[must_use]
    pub fn unseekable(bytes: &[u8]) -> ComWrapper<Self> {
        ComWrapper::new(Self {
            bytes: RefCell::new(bytes.to_vec()),
            ..Self::default()
        })
    }

    /// The contents of the stream.
    #[must_use]
    pub fn bytes(&self) -> Vec<u8> {
        self.bytes.borrow().clone()
    }

    /// The number of bytes that a call gets of those that it wants.
    fn granted(&self, wanted: int32) -> Option<usize> {
        let wanted = usize::try_from(wanted).ok()?;
        Some(wanted.min(self.piece.unwrap_or(usize::MAX)))
    }
}

/// Writes a number to a place that a caller may have left out.
///
/// # Safety
/// The pointer is null or valid for writes.
unsafe fn tell<T>(to: *mut T, value: T) {
    if !to.is_null() {
        // SAFETY: the caller promises that.
        unsafe { to.write(value) };
    }
}

impl IBStreamTrait for Stream {
    unsafe fn read(&self, buffer: *mut c_void, wanted: int32, moved: *mut int32) -> tresult {
        let Some(granted) = self.granted(wanted) else {
            return kInvalidArgument;
        };
        let bytes = self.bytes.borrow();
        let rest = bytes.get(self.position.get()..).unwrap_or_default();
        let piece = rest.get(..granted).unwrap_or(rest);
        // SAFETY: the plugin gives a buffer of `wanted` bytes, and `piece` is no
        // longer; it gives a valid place for the count or none.
        unsafe {
            piece
                .as_ptr()
                .copy_to_nonoverlapping(buffer.cast(), piece.len());
            tell(moved, int32::try_from(piece.len()).unwrap_or(0));
        }
        self.position.set(self.position.get() + piece.len());
        kResultOk
    }

    unsafe fn write(&self, buffer: *mut c_void, wanted: int32, moved: *mut int32) -> tresult {
        let Some(granted) = self.granted(wanted) else {
            return kInvalidArgument;
        };
        // SAFETY: the plugin gives a buffer of `wanted` bytes, and `granted` is no
        // more; it gives a valid place for the count or none.
        let piece = unsafe {
            tell(moved, int32::try_from(granted).unwrap_or(0));
            std::slice::from_raw_parts(buffer.cast::<u8>(), granted)
        };
        let mut bytes = self.bytes.borrow_mut();
        let from = self.position.get();
        let end = from + granted;
        let length = bytes.len().max(end);
        bytes.resize(length, 0);
        if let Some(place) = bytes.get_mut(from..end) {
            place.copy_from_slice(piece);
        }
        self.position.set(end);
        kResultOk
    }

    unsafe fn seek(&self, to: int64, mode: int32, result: *mut int64) -> tresult {
        let from = match mode {
            m if m == number::<int32>(kIBSeekSet) => 0,
            m if m == number::<int32>(kIBSeekCur) => self.position.get(),
            m if m == number::<int32>(kIBSeekEnd) => self.bytes.borrow().len(),
            _ => return kInvalidArgument,
        };
        let from = int64::try_from(from).unwrap_or(int64::MAX);
        let Ok(position) = usize::try_from(from.saturating_add(to)) else {
            return kInvalidArgument;
        };
        if !self.seekable {
            return kResultFalse;
        }
        self.position.set(position);
        // SAFETY: the plugin gives a valid place or none.
        unsafe { tell(result, int64::try_from(position).unwrap_or(int64::MAX)) };
        kResultOk
    }

    unsafe fn tell(&self, position: *mut int64) -> tresult {
        if !self.seekable {
            return kResultFalse;
        }
        let here = int64::try_from(self.position.get()).unwrap_or(int64::MAX);
        // SAFETY: the plugin gives a valid place or none.
        unsafe { tell(position, here) };
        kResultOk
    }
}
