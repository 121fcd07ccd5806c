//! Rules of checks: what each holds against what.

use super::{BOOK, GEOMETRY, PRACTICE, Rule, rule};

/// They, by name.
pub(super) const LIST: &[Rule] = &[
    rule(
        "backfill_from_spoil",
        "backfill over (compacted over bank) is at most what is dug",
        "US Army FM 5-434 table 1-1 (read second-hand)",
    ),
    rule("base_under_wheels", "concrete below the channel wherever wheels cross", PRACTICE),
    rule("bend_on_offer", "each turn is made by one bend of the pipe, or by two or three", PRACTICE),
    rule("branch_on_offer", "a pipe that something enters along its way has a branch fitting", BOOK),
    rule("clean_out_on_offer", "a pipe whose line calls for clean-outs has one", BOOK),
    rule(
        "concrete_time_limit",
        "from batching to the end of discharge, truck by truck, at most the time limit; the shorter one \
         where the concrete is hot",
        BOOK,
    ),
    rule("consumable_unit", "what is used up is measured in the unit of its coverage", BOOK),
    rule(
        "cover",
        "the least depth of ground over the pipe is at least the least cover; towards an end in the open \
         it is told",
        "geometry; the least cover is the price book's",
    ),
    rule(
        "cut_list",
        "the stock lengths cover every leg",
        "cut list with a lower bound; checked piece by piece",
    ),
    rule(
        "discount",
        "a discount takes off no more than there is",
        "EN 16931 document-level allowances, BT-92 to BT-94 (from memory)",
    ),
    rule("enters_above_invert", "what enters a line arrives at or above its invert there", GEOMETRY),
    rule(
        "evaporation_in_range",
        "air and concrete of -18 C and above: below, the formula of evaporation is a rough guide",
        "Uno, ACI Materials Journal 95(4), 1998 (read)",
    ),
    rule(
        "fall_available",
        "from the invert at the upper end to that of the discharge or the line it joins there is at least \
         fall x length",
        GEOMETRY,
    ),
    rule(
        "finish_wished",
        "the planned last day is no later than the wished one; the difference in working days",
        "the request",
    ),
    rule(
        "goods_before_the_plan",
        "the orders have goods there by the day on which the plan needs them first",
        PRACTICE,
    ),
    rule(
        "grate_intake",
        "the water over the grate that takes what arrives, by `water.grate`, is no deeper than allowed",
        "FHWA HEC-22 and TxDOT Hydraulic Design Manual, eq. 10-30 and 10-31 (coefficients read, form from \
         memory); 1/2 in common practice, no source",
    ),
    rule(
        "ground_by_depth",
        "ground that a depth dug puts over an outlet is where the surface over the outlet is",
        GEOMETRY,
    ),
    rule(
        "haul_driver",
        "where no item pays truck and driver, the hours of hauling hold those of the trips",
        PRACTICE,
    ),
    rule("haul_trip", "a trip is timed by the distance to the tip and the speed of the truck", PRACTICE),
    rule("item_can_be_bought", "an item is sold by a measure that what is needed can be told in", BOOK),
    rule("labor_factor", "the place and the weather have a factor where they are not the usual ones", BOOK),
    rule(
        "labor_rate",
        "every task and every measure of work is counted by a rate of its method, or of the task that does it",
        BOOK,
    ),
    rule(
        "least_fall",
        "a line falls no less than the least for its bore",
        "1 % common practice; least falls by bore from a city's code table (read)",
    ),
    rule(
        "least_piece",
        "no piece is shorter than the system or the book allows; a board or bar that is shorter as a whole is sawn as it is",
        BOOK,
    ),
    rule(
        "line_capacity",
        "the full bore carries what flows in, by `water.pipe`; its grade line stays below the ground; 2 \
         and 10 ft/s are warned of",
        "Manning's formula; 2 ft/s: Ten States Standards (from memory); 10 ft/s: common practice, from \
         memory",
    ),
    rule("line_rules", "drain lines have rules for trench, bedding and fall", BOOK),
    rule("line_water", "the grade line of the pipe can be followed", "Manning's formula"),
    rule(
        "load_class",
        "the class of the grate is at least the one that the price book names for what crosses; classes of \
         EN 1433 and of ASME A112.6.3 are not compared",
        "EN 1433:2002, ASME A112.6.3-2001; the class for a use is the price book's",
    ),
    rule("method_in_soil", "the method works in the soil", BOOK),
    rule("method_reach", "the method digs or cuts as deep as it must", BOOK),
    rule("most_suppliers", "everything can be bought from no more suppliers than asked for", "the notes"),
    rule(
        "noted_figure",
        "a figure of the notes lies where those of jobs do; beyond, a slip of the hand is likely: another unit, a moved point, a \
         separator of thousands, per mille, a depth for a level",
        "common practice, no source; each range says its own",
    ),
    rule("offers_in_time", "offers hold on the day of the order and come by the day they are needed", BOOK),
    rule("one_lift", "a patch is no thicker than what is placed in one lift with the surround", BOOK),
    rule(
        "outlet_bore",
        "the bore through the bottom lies within its leg, clear of joints, fittings and other bores",
        GEOMETRY,
    ),
    rule(
        "outlet_capacity",
        "an outlet takes all that arrives, by `water.outlet`",
        "weir and orifice as in FHWA HEC-22 (from memory)",
    ),
    rule("outlet_connected", "every outlet is taken by a drain line", PRACTICE),
    rule("over_cut", "an over-cut is counted where the surface is sawn", "the notes"),
    rule("pipe_against_line", "a pipe is not narrower than one that joins it", PRACTICE),
    rule("pipe_against_outlet", "a pipe is not narrower than the outlets it takes", PRACTICE),
    rule("placing_rate", "the crew places as fast as the trucks are unloaded", BOOK),
    rule(
        "pour_evaporation",
        "E = 5 ([Tc + 18]^2.5 - r [Ta + 18]^2.5) (V + 4) 1e-6 kg/m2/h is at most the limit, 1 unless the \
         price book sets another",
        "Uno, ACI Materials Journal 95(4), 1998 (read); limit: UFGS 03300N (read)",
    ),
    rule(
        "pour_in_cold",
        "air of 40 F or more, unless the price book sets another limit",
        "UFGS 03300N (read)",
    ),
    rule("pour_in_heat", "concrete of 95 F or less, unless the price book sets another limit", "from memory"),
    rule("purchase_plan", "the offers make a plan of purchases", BOOK),
    rule("recess_strip_on_offer", "a recess that a setting asks for has a strip of the price book", BOOK),
    rule("reducer", "lines of another size join by a fitting that takes both", PRACTICE),
    rule("relief_cuts", "relief cuts are counted where the surface is sawn", "the notes"),
    rule("restore_on_offer", "a surface that is cut and made good has its item in the price book", BOOK),
    rule(
        "run_freeboard",
        "the least room under the grate, by `water.surface`, is at least 1/2 in unless the price book sets \
         another",
        "Chow, Open-Channel Hydraulics (1959), ch. 12 (from memory); 1/2 in common practice, no source",
    ),
    rule("run_reached", "water of the storm reaches the run", "the notes"),
    rule(
        "run_water",
        "the water surface of the run can be followed, by `water.surface`",
        "Chow, Open-Channel Hydraulics (1959), ch. 12 (from memory)",
    ),
    rule("setting_detail", "the setting detail is made for what crosses, or for no less", PRACTICE),
    rule(
        "slab_against_trench",
        "what lies on top is no deeper than the trench, and over a line stays clear of the pipe",
        GEOMETRY,
    ),
    rule("spoil_kept", "no more spoil is kept on site than backfill leaves", "the notes"),
    rule("surface_in_book", "a surface that is lifted has its haul and restoring", BOOK),
    rule(
        "surround_by_engineer",
        "a surround for more than a car's wheels follows the channel system's own data or a licensed \
         engineer",
        PRACTICE,
    ),
    rule("tax_place", "taxes that are due in some places only need the place of the sale", BOOK),
    rule(
        "trench_width",
        "at least outside diameter + 16 in and 1.25 x outside diameter + 12 in, unless the price book sets \
         others",
        "ASTM D2321-05 (read)",
    ),
    rule(
        "uplift",
        "displaced volume x weight of fresh concrete is at most hangers x what one holds",
        "buoyancy; common practice, no source",
    ),
    rule("water_settled", "flows of the outlets and the water that backs up from the lines agree", PRACTICE),
    rule("water_unchecked", "notes without a storm leave the water unchecked", "the notes"),
    rule("yard_offcut", "an offcut in the yard serves something on the job", "the notes"),
];

#[cfg(test)]
mod tests {
    use super::LIST;

    #[test]
    fn checks_stand_by_name() {
        assert!(LIST.is_sorted_by_key(|rule| rule.name));
    }
}
