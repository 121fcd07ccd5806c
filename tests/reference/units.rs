//! Exact factors of NIST SP 811 (2008), appendix B (read).

use rillcast::units::Unit;

#[test]
fn factors_are_those_of_nist_sp_811() {
    // Lengths in nm, areas nm², volumes nm³, masses in hundredths of a milligram, times in s; all exact by definition.
    for (unit, factor) in [
        (Unit::In, 25_400_000_i128),                      // 2.54 E-02 m
        (Unit::Ft, 304_800_000),                          // 3.048 E-01 m
        (Unit::Yd, 914_400_000),                          // 9.144 E-01 m
        (Unit::In2, 645_160_000_000_000),                 // 6.4516 E-04 m²
        (Unit::Ft2, 92_903_040_000_000_000),              // 9.290304 E-02 m²
        (Unit::Yd2, 836_127_360_000_000_000),             // 8.3612736 E-01 m²
        (Unit::In3, 16_387_064_000_000_000_000_000),      // 1.6387064 E-05 m³
        (Unit::Ft3, 28_316_846_592_000_000_000_000_000),  // 2.8316846592 E-02 m³
        (Unit::Yd3, 764_554_857_984_000_000_000_000_000), // 7.64554857984 E-01 m³
        (Unit::GalUs, 3_785_411_784_000_000_000_000_000), // 3.785411784 E-03 m³
        (Unit::Lb, 45_359_237),                           // 4.5359237 E-01 kg
        (Unit::ShortTon, 90_718_474_000),                 // 9.0718474 E+02 kg
        (Unit::L, 1_000_000_000_000_000_000_000_000),
        (Unit::T, 100_000_000_000),
        (Unit::Min, 60),
        (Unit::Hr, 3_600),
        (Unit::Day, 86_400),
    ] {
        assert_eq!(unit.factor(), Some(factor), "{unit}");
    }
}

#[test]
fn rates_are_those_of_nist_sp_811() {
    for (unit, si) in [
        (Unit::Ft3PerS, 2.831_684_659_2e-2),
        (Unit::GalUsPerMin, 6.309_020e-5),
        (Unit::FtPerS, 3.048e-1),
        (Unit::InPerHr, 7.055_556e-6),
    ] {
        assert!((unit.si_rate() / si - 1.0).abs() < 1e-6, "{unit}");
    }
}
