//! Rules of figures: water, the tasks of a plan, learned rates.

use super::{PRACTICE, Rule, rule};

/// They, by what they are of.
pub(super) const LIST: &[Rule] = &[
    rule(
        "water.catchment",
        "Q = Cf C i A, Cf C at most 1; C = sum(C A) / sum(A), the high end of its published range where \
         the notes name none; Cf 1, 1.1, 1.2, 1.25 up to 10, 25, 50, 100 years unless the price book sets \
         others; i of the rain at the time of concentration, at least 5 min; in min, in/h and ft sheet \
         t = 0.933 i^-0.4 (n L / S^0.5)^0.6, overland t = 1.8 (1.1 - C) L^0.5 / S%^(1/3), shallow V = K S^0.5",
        "rational method, factors and least time: FHWA HEC-22 (2009), ch. 3, and state manuals (from \
         memory); C: ASCE Manual 37 as reprinted by NRCS (read, part from memory); sheet: HEC-22, eq. 3-3 \
         (from memory); overland: FAA AC 150/5320 (from memory); shallow: USDA NRCS NEH-630, ch. 15, table \
         15-3 (read)",
    ),
    rule(
        "water.grate",
        "the lesser of 1.66 P d^1.5 as a weir and 0.67 A sqrt(2 g d) as an orifice, in SI; half of edge \
         and openings blocked and 1/2 in of water over the grate unless the price book sets others",
        "FHWA HEC-22 and TxDOT Hydraulic Design Manual, eq. 10-30 and 10-31 (coefficients read, form from \
         memory); half blocked: TxDOT (read); 1/2 in common practice, no source",
    ),
    rule(
        "water.surface",
        "dy/dx = (S0 - Sf - 2 Q q / (g A^2)) / (1 - Q^2 T / (g A^3)), Sf by Manning; from the outlet up, \
         or from where the flow turns fast; 1.2 (1 - cos) velocity heads lost at a corner",
        "Chow, Open-Channel Hydraulics (1959), ch. 12 (from memory); Novak et al., Hydraulic Structures, \
         eq. 4.25 (read); corner: handbook expression for mitre bends (from memory)",
    ),
    rule(
        "water.outlet",
        "in the floor the greater of (Q / (1.66 P))^(2/3) and t + (Q / (0.67 A))^2 / (2 g), t the water \
         that backs up; at an end critical depth at the mouth of the pipe, or the orifice where it is under \
         water",
        "critical depth and orifice as in Chow (1959) and FHWA HEC-22 (from memory)",
    ),
    rule(
        "water.pipe",
        "Manning for the full bore, and the depth where it is partly full; a full bore carries what flows \
         in; 0.25 velocity heads lost at a bend, 0.5 where a pipe joins; at least 2 ft/s flowing full, at \
         most 10 ft/s; all settings of the price book",
        "Chow, Open-Channel Hydraulics (1959), art. 6-4 (from memory); 2 ft/s: Ten States Standards (from \
         memory); 10 ft/s: common practice, from memory; losses from memory",
    ),
    rule(
        "plan.work",
        "crew-hours laid on the working hours of the calendar; critical path, then one by one within the \
         crews and machines there are",
        "critical path method, University of Pittsburgh operations research notes cpm3 (read); serial \
         schedule generation, Kelley 1963 (from memory)",
    ),
    rule(
        "plan.marks",
        "digging begins on the first working day after whole working days of notice, 3 unless the price \
         book sets others",
        "29 CFR 1926.651(b) asks for the call before digging (from memory); the time is set by state law; \
         counting in clear days common practice, no source",
    ),
    rule(
        "plan.office_days",
        "working days of the offices: 5 for a permit, 1 for the inspection before a pour, unless the price \
         book sets others",
        PRACTICE,
    ),
    rule(
        "plan.set",
        "calendar days between a pour and the stripping of its forms, 1 unless the price book sets others",
        PRACTICE,
    ),
    rule(
        "plan.another_day",
        "what is left of the day: what follows begins on another day of the calendar",
        PRACTICE,
    ),
    rule(
        "plan.cure",
        "calendar days from the pour, those of the price book; by strength f(t) / f28 = t / (a + b t) \
         where it gives one, never shorter; work resumes on a working day",
        "UFGS 03301A (read): 7 days for Type I cement, 14 for Type II; ACI 209R-92 (from memory); calendar \
         days common practice",
    ),
    rule(
        "learning.rates",
        "ln(actual / estimated) = class + task + job + line, all normal; posterior of every rate jointly, \
         an old job counts half after the half-life; a line is flagged from a score of 3.5 of 0.6745 (y - \
         median) / MAD",
        "normal-normal precision weighting (read, CRAN glmbayes vignette ch. 2); Henderson's mixed model \
         equations (from memory); score: Iglewicz and Hoaglin 1993 (from memory); spreads and half-life \
         common practice, no source",
    ),
];
