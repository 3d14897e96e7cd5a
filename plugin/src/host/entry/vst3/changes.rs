//! A host's parameter changes as the framework can read them: every point lies within the block and
//! every value within its range. Runs on the audio thread; imports `lent`.

use super::lent::Lent;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::{
    IParamValueQueue, IParamValueQueueTrait, IParameterChanges, IParameterChangesTrait, ParamID,
    ParamValue,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::{
    int32, kInvalidArgument, kNotImplemented, kResultFalse, kResultOk, tresult,
};
use nice_plug::wrapper::vst3::vst3::{Class, ComRef};
use std::cell::Cell;
use std::ops::Range;

/// The ids under which the framework takes MIDI controllers: for each of 16 channels the 128
/// controllers, the pressure of the channel, and its pitch bend.
pub const CONTROLLERS: Range<ParamID> = (1 << 31) - 16 * 130..1 << 31;

/// A parameter and its value from 0 to 1.
pub type Change = (ParamID, ParamValue);

/// The changes that came while no audio was due, and then the host's.
pub struct Changes<'a> {
    /// Null if the host passes none.
    host: *mut IParameterChanges,
    waiting: &'a [Change],
    /// The queue that was asked for last.
    queue: Lent<Queue>,
}

/// The points of one parameter.
struct Queue {
    points: Cell<Points>,
    /// The last sample of the block.
    last: i32,
}

#[derive(Clone, Copy)]
enum Points {
    OfHost(*mut IParamValueQueue),
    /// One at the start of the block.
    Waiting(Change),
}

impl<'a> Changes<'a> {
    /// # Safety
    /// The host's changes are null or valid for as long as this is used.
    pub unsafe fn new(host: *mut IParameterChanges, waiting: &'a [Change], last: i32) -> Self {
        let points = Cell::new(Points::OfHost(std::ptr::null_mut()));
        Self {
            host,
            waiting,
            queue: Lent::new(Queue { points, last }),
        }
    }

    fn host(&self) -> Option<ComRef<'_, IParameterChanges>> {
        // SAFETY: whoever made this promised it.
        unsafe { ComRef::from_raw(self.host) }
    }

    fn host_count(&self) -> int32 {
        // SAFETY: the changes are valid.
        let count = self.host().map(|host| unsafe { host.getParameterCount() });
        count.unwrap_or(0).max(0)
    }

    /// A queue of the host's; null if it has none there.
    fn of_host(&self, index: int32) -> *mut IParamValueQueue {
        // SAFETY: the changes are valid.
        let queue = self
            .host()
            .map(|host| unsafe { host.getParameterData(index) });
        queue.unwrap_or(std::ptr::null_mut())
    }

    /// The host's changes of controllers in its order.
    pub fn of_controllers(&self) -> impl Iterator<Item = Change> {
        (0..self.host_count()).flat_map(|index| {
            let queue = self.queue.object();
            queue.points.set(Points::OfHost(self.of_host(index)));
            let id = queue.id().filter(|id| CONTROLLERS.contains(id));
            let count = id.map_or(0, |_| queue.count());
            let values = (0..count).filter_map(|point| queue.point(point));
            values.filter_map(move |(_, value)| id.map(|id| (id, value)))
        })
    }
}

impl Queue {
    fn host(&self) -> Option<ComRef<'_, IParamValueQueue>> {
        match self.points.get() {
            // SAFETY: a host's queue is null or valid for as long as its changes are.
            Points::OfHost(queue) => unsafe { ComRef::from_raw(queue) },
            Points::Waiting(_) => None,
        }
    }

    fn id(&self) -> Option<ParamID> {
        match self.points.get() {
            // SAFETY: the queue is valid.
            Points::OfHost(_) => self.host().map(|queue| unsafe { queue.getParameterId() }),
            Points::Waiting((id, _)) => Some(id),
        }
    }

    fn count(&self) -> int32 {
        match self.points.get() {
            // SAFETY: the queue is valid.
            Points::OfHost(_) => self
                .host()
                .map_or(0, |queue| unsafe { queue.getPointCount() }),
            Points::Waiting(_) => 1,
        }
    }

    /// A point, if the host has a number there.
    fn point(&self, index: int32) -> Option<(int32, ParamValue)> {
        if let Points::Waiting((_, value)) = self.points.get() {
            return Some((0, value));
        }
        let (mut at, mut value) = (0, ParamValue::NAN);
        let queue = self.host()?;
        // SAFETY: the queue is valid, and so are the places.
        let result = unsafe { queue.getPoint(index, &mut at, &mut value) };
        let is_number = result == kResultOk && !value.is_nan();
        is_number.then(|| (at.clamp(0, self.last), value.clamp(0.0, 1.0)))
    }
}

impl Class for Changes<'_> {
    type Interfaces = (IParameterChanges,);
}

impl IParameterChangesTrait for Changes<'_> {
    unsafe fn getParameterCount(&self) -> int32 {
        let waiting = int32::try_from(self.waiting.len()).unwrap_or(0);
        waiting.saturating_add(self.host_count())
    }

    unsafe fn getParameterData(&self, index: int32) -> *mut IParamValueQueue {
        let waiting = usize::try_from(index)
            .ok()
            .and_then(|i| self.waiting.get(i));
        let points = match waiting {
            Some(change) => Points::Waiting(*change),
            None => {
                let waiting = int32::try_from(self.waiting.len()).unwrap_or(0);
                let queue = self.of_host(index.saturating_sub(waiting));
                if queue.is_null() {
                    return std::ptr::null_mut();
                }
                Points::OfHost(queue)
            }
        };
        self.queue.object().points.set(points);
        self.queue.interface()
    }

    /// Nobody adds to what came in.
    unsafe fn addParameterData(
        &self,
        _id: *const ParamID,
        _index: *mut int32,
    ) -> *mut IParamValueQueue {
        std::ptr::null_mut()
    }
}

impl Class for Queue {
    type Interfaces = (IParamValueQueue,);
}

impl IParamValueQueueTrait for Queue {
    unsafe fn getParameterId(&self) -> ParamID {
        // `kNoParamId` of `vsttypes.h`.
        self.id().unwrap_or(ParamID::MAX)
    }

    unsafe fn getPointCount(&self) -> int32 {
        self.count()
    }

    unsafe fn getPoint(&self, index: int32, at: *mut int32, value: *mut ParamValue) -> tresult {
        if at.is_null() || value.is_null() {
            return kInvalidArgument;
        }
        let Some(point) = self.point(index) else {
            return kResultFalse;
        };
        // SAFETY: neither is null, and the caller gives valid places.
        unsafe {
            at.write(point.0);
            value.write(point.1);
        }
        kResultOk
    }

    /// Nobody adds to what came in.
    unsafe fn addPoint(&self, _at: int32, _value: ParamValue, _index: *mut int32) -> tresult {
        kNotImplemented
    }
}
