//! Wire sizes, resistances and capacitances against published tables.
//!
//! Beside each figure stands the work it comes from. "Worked" means that no table gives the figure: it follows by
//! hand from the formula named there. Tolerances cover the rounding of the printed figure; where more is allowed the
//! reason stands beside it.

#![expect(clippy::approx_constant, reason = "3.14 and 0.318 are resistances that a table prints")]
#![expect(clippy::unwrap_used, reason = "a test that cannot build its network has failed")]

use lath::circuit::copper::{Awg, Conductor, Metal, VACUUM_PERMITTIVITY, from_75, pair_capacitance};
use lath::circuit::{CircuitError, Network, Node};

/// Within `tolerance` of `expected`, absolutely.
#[track_caller]
fn near(got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{got} is not {expected} ± {tolerance}");
}

fn awg(number: i8) -> Awg {
    Awg::new(number).unwrap()
}

fn nodes<const N: usize>(network: &mut Network) -> [Node; N] {
    std::array::from_fn(|_| network.add_node().unwrap())
}

/// ASTM B258 fixes the ends of the gauge: 36 AWG is 0.005 inch and 4/0 is 0.46 inch.
#[test]
fn the_gauge_starts_and_ends_where_the_standard_says() {
    near(awg(36).diameter() / 25.4e-3, 0.005, 1e-9);
    near(awg(-3).diameter() / 25.4e-3, 0.46, 1e-6);
    // The standard's own statement of the step: the 39th root of 92.
    near(awg(13).diameter() / awg(14).diameter(), 1.122_932_2, 1e-6);
    near(awg(8).diameter() / awg(14).diameter(), 2.005, 0.000_5);
}

/// Diameters in inches and areas in circular mils as NFPA 70 chapter 9 Table 8 prints them (0.064, 0.081, 0.102;
/// 4110, 6530, 10380); millimetres and square millimetres as ASTM B258 gives them (from memory).
#[test]
fn diameters_and_areas_of_house_wire() {
    for (gauge, inches, cmil, mm, mm2) in [
        (14, 0.064, 4_110.0, 1.628, 2.08),
        (12, 0.081, 6_530.0, 2.053, 3.31),
        (10, 0.102, 10_380.0, 2.588, 5.261),
    ] {
        let wire = awg(gauge);
        near(wire.diameter() / 25.4e-3, inches, 0.000_5);
        near(wire.circular_mils(), cmil, 5.0);
        near(wire.diameter() * 1e3, mm, 0.000_6);
        near(wire.area() * 1e6, mm2, 0.005);
    }
}

/// NBS Handbook 100 (1966), copper wire tables: ohms per 1000 ft of solid annealed copper at 20 °C, and the same in
/// ohms per kilometre.
#[test]
fn solid_copper_at_20_degrees() {
    for (gauge, ohms) in [(10, 0.9989), (12, 1.588), (14, 2.525), (16, 4.016), (18, 6.385)] {
        let got = Conductor::copper(awg(gauge)).ohms_per_foot(20.0).unwrap() * 1e3;
        near(got, ohms, ohms * 3e-4);
    }
    for (gauge, ohms) in [(10, 3.277), (12, 5.211), (14, 8.285)] {
        let got = Conductor::copper(awg(gauge)).ohms_per_metre(20.0).unwrap() * 1e3;
        near(got, ohms, ohms * 3e-4);
    }
}

/// Worked from the coefficient of IEC 60028: at 25 °C the resistance is 1.01965 times that at 20 °C of NBS Handbook
/// 100. A public teaching table lists 2.573 for 14 AWG at that temperature.
#[test]
fn solid_copper_at_25_degrees() {
    for (gauge, ohms) in [(10, 1.019), (12, 1.619), (14, 2.575)] {
        near(Conductor::copper(awg(gauge)).ohms_per_foot(25.0).unwrap() * 1e3, ohms, 0.000_6);
    }
    near(Conductor::copper(awg(14)).ohms_per_foot(25.0).unwrap() * 1e3, 2.573, 0.003);
}

/// NFPA 70 chapter 9 Table 8, ohms per 1000 ft at 75 °C. Solid: to the last printed digit. Seven strands: the
/// table reckons with the wires of its own strands, which differ from a flat 2 % of lay by up to 0.6 %.
#[test]
fn the_codes_resistances_at_75_degrees() {
    let table = [
        (Metal::Copper, 14, 3.07, 3.14),
        (Metal::Copper, 12, 1.93, 1.98),
        (Metal::Copper, 10, 1.21, 1.24),
        (Metal::TinnedCopper, 14, 3.19, 3.26),
        (Metal::TinnedCopper, 12, 2.01, 2.05),
        (Metal::TinnedCopper, 10, 1.26, 1.29),
        (Metal::Aluminium, 14, 5.06, 5.17),
        (Metal::Aluminium, 12, 3.18, 3.25),
        (Metal::Aluminium, 10, 2.00, 2.04),
    ];
    for (metal, gauge, solid, strands) in table {
        let wire = Conductor { metal, awg: awg(gauge), stranded: false };
        near(wire.ohms_per_foot(75.0).unwrap() * 1e3, solid, 0.005_1);
        let cable = Conductor { stranded: true, ..wire };
        near(cable.ohms_per_foot(75.0).unwrap() * 1e3, strands, 0.006 * strands);
    }
    // The same table's 18 and 16 AWG, used as reduced grounding conductors; it reckons with areas rounded to 10
    // circular mils (2580 for 16 AWG), up to 0.15 %.
    for (gauge, ohms) in [(18, 7.77), (16, 4.89)] {
        near(Conductor::copper(awg(gauge)).ohms_per_foot(75.0).unwrap() * 1e3, ohms, 0.001_5 * ohms);
    }
}

/// NFPA 70 chapter 9 Table 8 gives α₇₅ = 0.00323 beside its values. Taken down to 20 °C that is the factor 0.8224
/// (worked), and must land on NBS Handbook 100: 2.525 Ω from 3.07 Ω, both rounded.
#[test]
fn the_codes_temperature_form() {
    near(from_75(Metal::Copper, 1.0, 20.0).unwrap(), 0.8224, 0.000_06);
    near(from_75(Metal::Copper, 3.07, 20.0).unwrap(), 2.525, 0.005);
    near(from_75(Metal::Copper, 1.93, 20.0).unwrap(), 1.588, 0.005);
    // Worked from the same note: aluminium, α₇₅ = 0.00330, 55 K down.
    near(from_75(Metal::Aluminium, 1.0, 20.0).unwrap(), 0.8185, 0.000_06);
}

/// NFPA 70 chapter 9 Table 9: AC resistance in PVC conduit (14, 12, 10 AWG: 3.1, 2.0, 1.2 Ω per 1000 ft, which
/// are stranded wires) and reactance (0.058, 0.054, 0.050). The room leaves reactance out: the table's own impedance
/// shows that this loses less than a thousandth.
#[test]
fn leaving_reactance_out_costs_nothing_here() {
    for (gauge, resistance, reactance) in [(14, 3.1, 0.058), (12, 2.0, 0.054), (10, 1.2, 0.050)] {
        let wire = Conductor { metal: Metal::Copper, awg: awg(gauge), stranded: true };
        let ours = wire.ohms_per_foot(75.0).unwrap() * 1e3;
        near(ours, resistance, 0.05);
        near(libm::hypot(ours, reactance), ours, 1e-3 * ours);
    }
}

/// Runs of 25, 50 and 100 ft, one way and out and back, worked from the 20 °C values of NBS Handbook 100; here the
/// way there is measured as an ohmmeter would, through the solver.
#[test]
fn runs_of_wire_by_ohmmeter() {
    for (gauge, feet, one_way, loop_) in [
        (14, 25.0, 0.063, 0.126),
        (14, 50.0, 0.126, 0.253),
        (14, 100.0, 0.253, 0.505),
        (12, 25.0, 0.040, 0.079),
        (12, 50.0, 0.079, 0.159),
        (12, 100.0, 0.159, 0.318),
    ] {
        let mut network = Network::new();
        let [near_end, far, back] = nodes(&mut network);
        let ohms = Conductor::copper(awg(gauge)).ohms_per_foot(20.0).unwrap() * feet;
        network.resistor(near_end, far, ohms).unwrap();
        network.resistor(far, back, ohms).unwrap();
        near(network.resistance_between(near_end, far).unwrap().ohms(), one_way, 0.000_6);
        near(network.resistance_between(near_end, back).unwrap().ohms(), loop_, 0.000_6);
    }
}

/// Worked from C' = π ε₀ εᵣ / arcosh(D/d): two 14 AWG singles in air 3, 5 and 12 inches apart have 6.1, 5.5 and
/// 4.7 pF/m; in flat plastic cable (3.2 and 4.8 mm, εᵣ 2.5 to 3.5) 54 to 75 and 40 to 56 pF/m, which brackets the
/// 69 pF/m measured on a roll of cable by R. Duffy ("The Capacitance Connection", Nuts & Volts).
#[test]
fn capacitance_between_two_wires() {
    let wire = awg(14).diameter();
    let per_metre =
        |spacing: f64, permittivity: f64| pair_capacitance(spacing, wire, permittivity).unwrap() * 1e12;
    near(per_metre(3.0 * 25.4e-3, 1.0), 6.1, 0.06);
    near(per_metre(5.0 * 25.4e-3, 1.0), 5.5, 0.06);
    near(per_metre(12.0 * 25.4e-3, 1.0), 4.7, 0.06);
    near(per_metre(3.2e-3, 2.5), 54.0, 0.6);
    near(per_metre(3.2e-3, 3.5), 75.0, 0.6);
    near(per_metre(4.8e-3, 2.5), 40.0, 0.6);
    near(per_metre(4.8e-3, 3.5), 56.0, 0.6);
    assert!(per_metre(4.8e-3, 2.5) < 69.0 && 69.0 < per_metre(3.2e-3, 3.5));
    // The limit of wires far apart, worked: arcosh(x) tends to ln 2x.
    let far = std::f64::consts::PI * VACUUM_PERMITTIVITY / (2.0 * 1e4_f64).ln();
    near(pair_capacitance(10.0, 1e-3, 1.0).unwrap(), far, 1e-8 * far);
}

#[test]
fn sizes_and_temperatures_that_do_not_exist_are_refused() {
    for gauge in [i8::MIN, -4, 41, i8::MAX] {
        assert!(matches!(Awg::new(gauge), Err(CircuitError::OutOfRange { .. })), "{gauge}");
    }
    assert_eq!(awg(-3).number(), -3);
    let wire = Conductor::copper(awg(14));
    for celsius in [f64::NAN, f64::INFINITY, -273.15, 501.0] {
        assert!(wire.ohms_per_foot(celsius).is_err() && wire.ohms_per_metre(celsius).is_err(), "{celsius}");
        assert!(from_75(Metal::Copper, 1.0, celsius).is_err(), "{celsius}");
    }
    for ohms in [f64::NAN, f64::INFINITY, -1.0, 0.0] {
        assert!(from_75(Metal::Copper, ohms, 20.0).is_err(), "{ohms}");
    }
}

#[test]
fn wires_that_touch_have_no_capacitance_formula() {
    for (spacing, diameter, permittivity) in [
        (1.6e-3, 1.6e-3, 1.0),
        (1.0e-3, 1.6e-3, 1.0),
        (3.2e-3, 0.0, 1.0),
        (3.2e-3, -1.6e-3, 1.0),
        (f64::NAN, 1.6e-3, 1.0),
        (f64::INFINITY, 1.6e-3, 1.0),
        (3.2e-3, f64::NAN, 1.0),
        (3.2e-3, 1.6e-3, 0.5),
        (3.2e-3, 1.6e-3, f64::NAN),
    ] {
        let refused = pair_capacitance(spacing, diameter, permittivity);
        assert!(
            matches!(refused, Err(CircuitError::OutOfRange { .. })),
            "{spacing} {diameter} {permittivity}"
        );
    }
}
