//! How stock lengths are cut and joined.

use crate::units::Length;
use crate::wire::Whole;
use crate::wire_object;

wire_object! {
    /// Settings of the cut lists that hold for every system; what a system says itself goes before them.
    pub struct CuttingRules {
        /// Longest assembled piece of channel that the crew lifts and sets at once; no limit when left out. Stock that is longer
        /// is not used, not even sawn.
        pub longest_setting: Option<Length>,
        /// Offcuts at least this long are worth keeping; every offcut of the least piece and more when left out.
        pub keep_offcut: Option<Length>,
        /// Width of a saw cut in pipe, boards and bars; nothing when left out.
        pub kerf: Option<Length>,
        /// Shortest piece of pipe, and of a row of boards or a bar that is made of several; any when left out. A board or bar that
        /// is shorter as a whole, such as one across a narrow trench, is sawn as long as it must be.
        pub least_piece: Option<Length>,
        /// Most joints between pieces of channel in one leg; no limit when left out.
        pub most_joints: Option<Whole<0, 10000>>,
        /// Search steps for each cut list; 20000 for each leg when left out, at least 400000 and at most 2000000. The plan depends on it, never on the time it takes.
        pub most_nodes: Option<Whole<1000, 50000000>>,
    }
}
