//! Two landing errors, in two boxes: looked for where one error and one failure, or two failures, explain nothing.
//!
//! Each slip of the one box is undone in turn, and the wirings with one slip in the other box are listed as they are when
//! there is one only.

use super::errors::{Allowance, Slipped, Slips};
use super::facts::Facts;
use super::slips::{Layout, Slip};
use crate::house::BoxId;

/// No more work than this is spent on two boxes.
const MOST_WORK: u64 = 5_000_000;

impl Slipped<'_> {
    /// The wirings with one slip in the box `at` and one in the box `other`; both are opened and whole.
    pub(super) fn at_both(&self, at: BoxId, other: BoxId) -> Vec<Slips> {
        let layout = Layout::new(&self.call.house, self.facts, at);
        let mut allowance = Allowance::of(MOST_WORK);
        layout.slips.iter().map(|slip| self.beside(&layout, slip, other, &mut allowance)).collect()
    }

    /// The wirings with a given slip, and another in another box.
    fn beside(&self, layout: &Layout, slip: &Slip, other: BoxId, allowance: &mut Allowance) -> Slips {
        let mut call = self.call.clone();
        call.house = self.with_joints(layout.at, layout.mended(&slip.home));
        // What somebody complains about is one of the two.
        call.complaint = false;
        let facts = Facts::new(&call.house);
        let mut both = Slips::default();
        let undone = Slipped { call: &call, facts: &facts, deep: false, ..*self };
        undone.with_box_apart(&Layout::new(&call.house, &facts, other), &mut both, Some(allowance));
        let chance = self.share(layout, slip);
        for one in &mut both.found {
            one.wiring.weight *= chance;
            one.wiring.defects.insert(0, slip.defect.clone());
        }
        // How much there is with one box apart is known from the single slips.
        both.whole.clear();
        both
    }
}
