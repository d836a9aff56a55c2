//! What a house is made of, as far as it was seen: boxes, cable ends, wires, devices, joints, points.
//!
//! Everything is addressed by small integers ([`BoxId`], [`EndId`], [`DeviceId`]) that are only made by
//! [`House`], so a point that does not exist cannot be written down past the edge. Names come back through
//! [`House::point_name`] and friends.

mod device;
mod place;
mod role;
mod survey;

pub use device::{DeviceKind, LampKind, Positions, Terminal};
pub use place::{BoxId, BoxKind, DeviceId, EndId, FeedId, Place, Reach};
pub use role::Role;
pub use survey::{
    Apart, COLOURS, Cable, Device, Feed, FeedKind, Goal, Grounds, House, Joint, LocalPoint, Metal, OutletBox,
    Point, Sheath, WireId,
};
