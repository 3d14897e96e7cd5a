//! The queues in which the parameter changes of a block go in and out. Imports nothing of this
//! crate.

use std::cell::RefCell;
use vst3::Steinberg::Vst::{
    IParamValueQueue, IParamValueQueueTrait, IParameterChanges, IParameterChangesTrait, ParamID,
    ParamValue,
};
use vst3::Steinberg::{int32, kInvalidArgument, kResultOk, tresult};
use vst3::{Class, ComWrapper};

/// A value at a sample of the block, from 0 to 1.
type Point = (int32, ParamValue);

/// The changes of one parameter.
struct Queue {
    id: ParamID,
    points: RefCell<Vec<Point>>,
}

impl Class for Queue {
    type Interfaces = (IParamValueQueue,);
}

impl IParamValueQueueTrait for Queue {
    unsafe fn getParameterId(&self) -> ParamID {
        self.id
    }

    unsafe fn getPointCount(&self) -> int32 {
        int32::try_from(self.points.borrow().len()).unwrap_or(int32::MAX)
    }

    unsafe fn getPoint(&self, index: int32, offset: *mut int32, value: *mut ParamValue) -> tresult {
        let points = self.points.borrow();
        let point = usize::try_from(index).ok().and_then(|i| points.get(i));
        let Some((at, to)) = point.filter(|_| !offset.is_null() && !value.is_null()) else {
            return kInvalidArgument;
        };
        // SAFETY: neither is null, and the plugin gives valid places.
        unsafe {
            offset.write(*at);
            value.write(*to);
        }
        kResultOk
    }

    unsafe fn addPoint(&self, offset: int32, value: ParamValue, index: *mut int32) -> tresult {
        let mut points = self.points.borrow_mut();
        let place = points.partition_point(|(at, _)| *at <= offset);
        points.insert(place, (offset, value));
        if !index.is_null() {
            // SAFETY: it is not null, and the plugin gives a valid place.
            unsafe { index.write(int32::try_from(place).unwrap_or(int32::MAX)) };
        }
        kResultOk
    }
}

/// The changes of all parameters in one block.
#[derive(Default)]
pub struct Changes {
    queues: RefCell<Vec<ComWrapper<Queue>>>,
    /// How many queues are counted that are not there.
    missing: int32,
}

impl Class for Changes {
    type Interfaces = (IParameterChanges,);
}

impl Changes {
    /// The same, but it counts some queues more than it has, and gives null for those.
    #[must_use]
    pub fn and_missing(self, missing: i32) -> Self {
        Self { missing, ..self }
    }

    /// Adds a change. Changes of one parameter at one sample keep their order.
    pub fn add(&self, id: u32, at: i32, value: f64) {
        let queue = self.queue(id);
        let mut points = queue.points.borrow_mut();
        let place = points.partition_point(|(other, _)| *other <= at);
        points.insert(place, (at, value));
    }

    /// All changes as parameter, sample and value.
    #[must_use]
    pub fn all(&self) -> Vec<(u32, i32, f64)> {
        let queues = self.queues.borrow();
        let points = queues.iter().flat_map(|queue| {
            let points = queue.points.borrow();
            let of_one: Vec<_> = points.iter().map(|(at, to)| (queue.id, *at, *to)).collect();
            of_one
        });
        points.collect()
    }

    fn queue(&self, id: ParamID) -> ComWrapper<Queue> {
        let mut queues = self.queues.borrow_mut();
        if let Some(queue) = queues.iter().find(|queue| queue.id == id) {
            return queue.clone();
        }
        let points = RefCell::default();
        let queue = ComWrapper::new(Queue { id, points });
        queues.push(queue.clone());
        queue
    }

    /// The interface stays valid as long as the queue is in the list.
    fn lent(queue: &ComWrapper<Queue>) -> *mut IParamValueQueue {
        queue
            .as_com_ref()
            .map_or(std::ptr::null_mut(), |queue| queue.as_ptr())
    }
}

impl IParameterChangesTrait for Changes {
    unsafe fn getParameterCount(&self) -> int32 {
        let there = int32::try_from(self.queues.borrow().len()).unwrap_or(int32::MAX);
        there.saturating_add(self.missing)
    }

    unsafe fn getParameterData(&self, index: int32) -> *mut IParamValueQueue {
        let queues = self.queues.borrow();
        let queue = usize::try_from(index).ok().and_then(|i| queues.get(i));
        queue.map_or(std::ptr::null_mut(), Self::lent)
    }

    unsafe fn addParameterData(
        &self,
        id: *const ParamID,
        index: *mut int32,
    ) -> *mut IParamValueQueue {
        // SAFETY: the plugin gives a valid place or none.
        let Some(id) = (unsafe { id.as_ref() }) else {
            return std::ptr::null_mut();
        };
        let queue = self.queue(*id);
        let place = self.queues.borrow().iter().position(|q| q.id == *id);
        if !index.is_null() {
            // SAFETY: it is not null, and the plugin gives a valid place.
            unsafe { index.write(place.and_then(|p| p.try_into().ok()).unwrap_or(-1)) };
        }
        Self::lent(&queue)
    }
}
