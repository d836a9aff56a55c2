//! What survey and readings settle, in data: the verdict and its JSON form.

mod report;

pub use crate::house::Role;
pub use report::{
    Arrangement, BoxRoles, CableFound, Candidates, DefectFound, DeviceFound, Disbelieved, FeedFound, Landing,
    NeutralFound, State, Verdict, WireFound,
};
