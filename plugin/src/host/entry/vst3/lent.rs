//! Objects on the stack with an interface of VST3, lent for one call. They are neither allocated nor
//! counted: who gets one must not keep it, as the interface says of everything in a block. Runs on the
//! audio thread; imports nothing of the crate.

use nice_plug::wrapper::vst3::vst3::Class;
use nice_plug::wrapper::vst3::vst3::com_scrape_types::{Header, MakeHeader, Wrapper};
use std::mem::offset_of;

/// An object behind the table of its methods.
#[repr(C)]
pub struct Lent<C: Class> {
    header: Header<C>,
    object: C,
}

impl<C: Class> Lent<C> {
    pub fn new(object: C) -> Self
    where
        C::Interfaces: MakeHeader<C, Self>,
    {
        Self {
            header: C::Interfaces::HEADER,
            object,
        }
    }

    /// The object as its only interface.
    pub fn interface<I>(&self) -> *mut I
    where
        C: Class<Interfaces = (I,)>,
        (I,): MakeHeader<C, Self>,
    {
        // The header of a list of one is that one, and it comes first.
        std::ptr::from_ref(self).cast_mut().cast()
    }

    pub fn object(&self) -> &C {
        &self.object
    }
}

impl<C: Class> Wrapper<C> for Lent<C> {
    unsafe fn data_from_header(header: *mut Header<C>) -> *mut C {
        // SAFETY: a header lies in a `Lent`, which the pointer was made of.
        unsafe { header.byte_add(offset_of!(Self, object)).cast() }
    }

    unsafe fn header_from_data(object: *mut C) -> *mut Header<C> {
        // SAFETY: the object lies in a `Lent`, which the pointer was made of.
        unsafe { object.byte_sub(offset_of!(Self, object)).cast() }
    }

    unsafe fn add_ref(_object: *mut C) -> usize {
        1
    }

    unsafe fn release(_object: *mut C) -> usize {
        1
    }
}
