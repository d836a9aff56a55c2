//! Figures of wires: their size, their resistance, and the capacitance between two of them.

use std::f64::consts::PI;

use super::network::{CircuitError, OHMS, within};

/// Metres in a foot, exactly.
pub const METRES_PER_FOOT: f64 = 0.3048;

/// Permittivity of vacuum, in farads per metre (CODATA 2018).
pub const VACUUM_PERMITTIVITY: f64 = 8.854_187_812_8e-12;

/// Resistivity of annealed copper of 100 % conductivity at 20 °C, in ohm-metres: 1/58 Ω·mm²/m (IEC 60028).
pub const COPPER_RESISTIVITY: f64 = 1.724_137_931e-8;

/// A wire size in American wire gauge. Sizes 1/0 to 4/0 are 0, −1, −2 and −3.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Awg(i8);

impl Awg {
    /// A size from −3 (4/0) to 40.
    ///
    /// # Errors
    /// When there is no such size.
    pub fn new(gauge: i8) -> Result<Self, CircuitError> {
        within("a wire gauge", f64::from(gauge), &(-3.0..=40.0))?;
        Ok(Self(gauge))
    }

    /// The number of the size.
    #[must_use]
    pub const fn number(self) -> i8 {
        self.0
    }

    /// The diameter of a solid wire, in metres.
    ///
    /// Source: ASTM B258: 36 AWG is 0.005 inch, 4/0 is 0.46 inch, and the 39 steps between are in geometric
    /// progression: d = 0.127 mm × 92^((36 − n)/39).
    #[must_use]
    pub fn diameter(self) -> f64 {
        0.127e-3 * libm::pow(92.0, (36.0 - f64::from(self.0)) / 39.0)
    }

    /// The area of a solid wire, in square metres.
    #[must_use]
    pub fn area(self) -> f64 {
        let diameter = self.diameter();
        PI / 4.0 * diameter * diameter
    }

    /// The area of a solid wire in circular mils: the square of its diameter in thousandths of an inch.
    #[must_use]
    pub fn circular_mils(self) -> f64 {
        let mils = self.diameter() / 25.4e-6;
        mils * mils
    }
}

/// What a conductor is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Metal {
    /// Bare (uncoated) annealed copper.
    Copper,
    /// Tinned copper, as under old rubber insulation.
    TinnedCopper,
    /// Aluminium.
    Aluminium,
}

impl Metal {
    /// Conductivity at 20 °C as a fraction of that of annealed copper.
    ///
    /// Sources: IEC 60028 (copper, 1); ASTM B33 (tinned copper of house-wiring sizes, 96.16 %, from memory);
    /// ASTM B609 (aluminium for wiring, 61 % nominal, from memory).
    #[must_use]
    pub const fn conductivity(self) -> f64 {
        match self {
            Self::Copper => 1.0,
            Self::TinnedCopper => 0.9616,
            Self::Aluminium => 0.61,
        }
    }

    /// Temperature coefficient of resistance referred to 20 °C, per kelvin.
    ///
    /// Sources: IEC 60028 (copper, 0.00393); NBS Handbook 109 (aluminium of 61 %, 0.00403, from memory).
    #[must_use]
    pub const fn coefficient_at_20(self) -> f64 {
        match self {
            Self::Copper | Self::TinnedCopper => 0.003_93,
            Self::Aluminium => 0.004_03,
        }
    }

    /// Temperature coefficient of resistance referred to 75 °C, per kelvin.
    ///
    /// Source: NFPA 70, chapter 9, Table 8, notes.
    #[must_use]
    pub const fn coefficient_at_75(self) -> f64 {
        match self {
            Self::Copper | Self::TinnedCopper => 0.003_23,
            Self::Aluminium => 0.003_30,
        }
    }
}

/// How much longer the strands of a seven-strand conductor are than the conductor (ASTM B8: 2 % for the lay).
pub const STRANDING: f64 = 1.02;

/// A conductor: what it is made of, its size, and whether it is one wire or seven strands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Conductor {
    /// The metal.
    pub metal: Metal,
    /// The size.
    pub awg: Awg,
    /// Seven strands in place of one solid wire.
    pub stranded: bool,
}

impl Conductor {
    /// A solid wire of bare copper.
    #[must_use]
    pub const fn copper(awg: Awg) -> Self {
        Self { metal: Metal::Copper, awg, stranded: false }
    }

    /// DC resistance in ohms per metre at a temperature, from the resistivity: ρ₂₀ (1 + α₂₀ (T − 20)) / A.
    ///
    /// Source: IEC 60028 for ρ₂₀ and α₂₀ of copper; NBS Handbook 100 works its copper wire tables this way.
    ///
    /// # Errors
    /// When the temperature is not between −100 °C and 500 °C, where the straight line still serves.
    pub fn ohms_per_metre(self, celsius: f64) -> Result<f64, CircuitError> {
        within("a temperature", celsius, &(-100.0..=500.0))?;
        let resistivity = COPPER_RESISTIVITY / self.metal.conductivity();
        let warm = 1.0 + self.metal.coefficient_at_20() * (celsius - 20.0);
        let lay = if self.stranded { STRANDING } else { 1.0 };
        Ok(resistivity * warm * lay / self.awg.area())
    }

    /// DC resistance in ohms per foot at a temperature. See [`Conductor::ohms_per_metre`].
    ///
    /// # Errors
    /// As [`Conductor::ohms_per_metre`].
    pub fn ohms_per_foot(self, celsius: f64) -> Result<f64, CircuitError> {
        Ok(self.ohms_per_metre(celsius)? * METRES_PER_FOOT)
    }
}

/// A resistance at another temperature, from its value at 75 °C: R₇₅ (1 + α₇₅ (T − 75)).
///
/// Source: NFPA 70, chapter 9, Table 8, notes.
///
/// # Errors
/// When the resistance is not positive and finite, or the temperature not between −100 °C and 500 °C.
pub fn from_75(metal: Metal, at_75: f64, celsius: f64) -> Result<f64, CircuitError> {
    within("a resistance", at_75, &OHMS)?;
    within("a temperature", celsius, &(-100.0..=500.0))?;
    Ok(at_75 * (1.0 + metal.coefficient_at_75() * (celsius - 75.0)))
}

/// Capacitance in farads per metre between two parallel wires: π ε₀ εᵣ / arcosh(D/d), with D the distance of their
/// centres, d their diameter, in the same unit, and εᵣ the relative permittivity around them.
///
/// Source: the two-wire line of electrostatics, exact for round wires in one medium (for instance W. R. Smythe,
/// *Static and Dynamic Electricity*, §4.14, number from memory).
///
/// # Errors
/// When the wires would touch or overlap (D ≤ d), a length is not positive, or εᵣ is not between 1 and 100.
pub fn pair_capacitance(spacing: f64, diameter: f64, permittivity: f64) -> Result<f64, CircuitError> {
    within("a wire diameter", diameter, &(1e-6..=1.0))?;
    within("a relative permittivity", permittivity, &(1.0..=100.0))?;
    let ratio = spacing / diameter;
    within("a spacing in wire diameters", ratio, &(1.000_001..=1e6))?;
    Ok(PI * VACUUM_PERMITTIVITY * permittivity / libm::acosh(ratio))
}
