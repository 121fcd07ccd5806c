//! Channel systems, the details they are set in, and pipes.

use super::measures::BarNumber;
use crate::domain::words::{Crossing, LoadClass};
use crate::units::{Area, Factor, Length, Percent};
use crate::wire::{Code, Label, List, Whole};
use crate::{wire_enum, wire_object};

wire_enum! {
    /// The shape of a channel's bottom.
    pub enum Bottom {
        /// flat bottom, vertical walls
        Rectangular = "rectangular",
        /// semicircular bottom, vertical walls
        U = "u",
    }
}

wire_object! {
    /// The cross-section of a channel.
    pub struct Section {
        /// Shape of the bottom.
        pub bottom: Bottom,
        /// Clear width between the walls.
        pub inside_width: Length,
        /// Outside width.
        pub overall_width: Length,
        /// Outside height at the shallow end.
        pub overall_height: Length,
        /// Outside height at the deep end, where fall is built in.
        pub overall_height_deep_end: Option<Length>,
        /// Channel bottom to underside of grate at the shallow end.
        pub water_depth: Length,
        /// The same at the deep end, where fall is built in.
        pub water_depth_deep_end: Option<Length>,
        /// Thickness below the channel bottom.
        pub bottom_thickness: Length,
        /// Manning's n, from 0.008 to 0.030, for example `"0.011"`.
        pub roughness: Factor,
        /// Fall built into the bottom, in percent.
        pub built_in_fall_pct: Option<Percent>,
    }
}

wire_object! {
    /// A stock length of channel.
    pub struct StockLength {
        /// Item code.
        pub item: Code,
        /// Length of one.
        pub length: Length,
    }
}

wire_object! {
    /// An outlet fitting.
    pub struct OutletFitting {
        /// Item code.
        pub item: Code,
        /// Clear bore of the spigot.
        pub bore: Length,
        /// Length of the leg the fitting uses up.
        pub uses_length: Option<Length>,
        /// How far the outgoing invert lies below the channel's. The fitting reaches so far by itself: a bottom outlet with its
        /// drop and its turn into the line. No riser and no bend is counted beside it, so its item must hold them.
        pub invert_drop: Option<Length>,
    }
}

wire_object! {
    /// A corner or tee.
    pub struct TurnFitting {
        /// Item code.
        pub item: Code,
        /// Length used up of each leg that meets here.
        pub uses_length: Option<Length>,
        /// Joints it makes.
        pub joints: Whole<0, 10>,
    }
}

wire_object! {
    /// A grate that fits a system.
    pub struct Grate {
        /// Item code.
        pub item: Code,
        /// Stock length.
        pub length: Length,
        /// The class it is rated for.
        pub load_class: Option<LoadClass>,
        /// Screws or locks per grate.
        pub screws: Whole<0, 50>,
        /// Shortest piece that may be cut; any when left out.
        pub least_piece: Option<Length>,
        /// Open area of one stock length, for interception.
        pub open_area: Option<Area>,
    }
}

wire_object! {
    /// A channel system: one section geometry and the parts that fit it.
    pub struct ChannelSystem {
        /// The office's own code.
        pub code: Code,
        /// What it is.
        pub name: Label,
        /// Cross-section.
        pub section: Section,
        /// Stock lengths.
        pub stock: List<StockLength, 1, 20>,
        /// Shortest piece that may be cut.
        pub least_piece: Length,
        /// Width of a saw cut.
        pub kerf: Length,
        /// Most joints between pieces in one leg; as the settings for cutting say when left out.
        pub most_joints: Option<Whole<0, 10000>>,
        /// Item for each joint, when joints need a part.
        pub coupling: Option<Code>,
        /// Closes an end.
        pub end_cap: Option<Code>,
        /// Outlet through an end.
        pub end_outlet: Option<OutletFitting>,
        /// Outlet through the bottom.
        pub bottom_outlet: Option<OutletFitting>,
        /// Two legs meeting.
        pub corner: Option<TurnFitting>,
        /// A leg branching off.
        pub tee: Option<TurnFitting>,
        /// Grates that fit, the preferred first.
        pub grates: List<Grate, 0, 20>,
        /// Item of the grate screws.
        pub screw: Option<Code>,
    }
}

wire_object! {
    /// Bars along the run in the surround.
    pub struct Reinforcement {
        /// Item code of the bar; priced by length or by piece.
        pub item: Code,
        /// Bar number: the diameter in eighths of an inch (ASTM A615). A metric bar is told by the nearest: 12 mm is number 4,
        /// within an eighth of the weight.
        pub bar_number: BarNumber,
        /// Bars side by side.
        pub bars: Whole<1, 20>,
        /// Stock length of a bar.
        pub bar_length: Length,
        /// Lap where bars meet.
        pub lap: Length,
    }
}

wire_object! {
    /// The surround, recess and steel that a use or class calls for.
    pub struct SettingDetail {
        /// The office's own code.
        pub code: Code,
        /// What may cross.
        pub crossings: List<Crossing, 1, 13>,
        /// Concrete beside the channel, each side.
        pub side: Length,
        /// Concrete below the channel.
        pub base: Length,
        /// Concrete beyond each end.
        pub end: Length,
        /// Grate below the finished surface.
        pub recess: Length,
        /// Gap between grates in a hot climate; 1/8 in when left out, `0 in` for none.
        pub hot_grate_gap: Option<Length>,
        /// Bars, where the detail has them.
        pub reinforcement: Option<Reinforcement>,
        /// Item of the recess strip, priced by length; where wheels cross a recess without it, nothing is bought, which is warned of.
        pub recess_strip: Option<Code>,
    }
}

wire_object! {
    /// The least load class a use calls for, by every standard by which grates of the book are rated.
    pub struct UseClass {
        /// `feet` or `wheels`.
        pub crossing: Crossing,
        /// Least class by EN 1433; may be left out where no grate is rated by it.
        pub en_1433: Option<LoadClass>,
        /// Least class by ASME A112.6.3; may be left out where no grate is rated by it.
        pub asme_a112_6_3: Option<LoadClass>,
    }
}

wire_object! {
    /// Cross-pieces that hold the channel at level while the surround is poured.
    pub struct HangerRule {
        /// Item code.
        pub item: Code,
        /// Greatest distance between two.
        pub spacing: Length,
        /// Weight of water or ballast is not counted; each hanger holds up to this uplift in pounds-force.
        pub holds: Option<crate::units::quantity::Mass>,
    }
}

wire_object! {
    /// Forms where there is no slab edge to pour against.
    pub struct FormRule {
        /// Item code of a board.
        pub item: Code,
        /// Length of a board.
        pub board_length: Length,
        /// Face width of a board.
        pub board_width: Length,
        /// Nominal thickness lumber of this size is sold by; with `nominal_width` the board feet are told.
        pub nominal_thickness: Option<Length>,
        /// Nominal width.
        pub nominal_width: Option<Length>,
    }
}

wire_object! {
    /// A bend of a pipe.
    pub struct Bend {
        /// Turn in degrees.
        pub degrees: Whole<1, 90>,
        /// Item code.
        pub item: Code,
    }
}

wire_object! {
    /// A branch of a pipe that takes a line of another pipe.
    pub struct ReducingBranch {
        /// Code of the pipe that joins.
        pub pipe: Code,
        /// Item code.
        pub item: Code,
    }
}

wire_object! {
    /// A pipe and the fittings that go with it.
    pub struct Pipe {
        /// The office's own code.
        pub code: Code,
        /// What it is.
        pub name: Label,
        /// Item code of one stock length.
        pub item: Code,
        /// Laying length of one.
        pub stock_length: Length,
        /// Other lengths that it comes in; each line is made up of what costs least.
        pub further_stock: List<StockLength, 0, 19>,
        /// Outside diameter.
        pub outside_diameter: Length,
        /// Clear bore.
        pub inside_diameter: Length,
        /// Manning's n, from 0.008 to 0.030.
        pub roughness: Factor,
        /// Item for each joint; bell-ended pipe needs none.
        pub coupling: Option<Code>,
        /// Bends on offer.
        pub bends: List<Bend, 0, 10>,
        /// Where a line branches.
        pub branch: Option<Code>,
        /// Where a line of another pipe joins. One without such a fitting joins by `branch`, with a warning that a reducer may be
        /// missing.
        pub reducing_branches: List<ReducingBranch, 0, 10>,
        /// Clean-out.
        pub clean_out: Option<Code>,
        /// Connects an outlet to the line.
        pub adapter: Option<Code>,
    }
}

impl Pipe {
    /// Every stock length, by its item.
    pub fn stock(&self) -> impl Iterator<Item = (&Code, Length)> {
        let further = self.further_stock.iter().map(|stock| (&stock.item, stock.length));
        std::iter::once((&self.item, self.stock_length)).chain(further)
    }
}
