//! A box put back as a plan says, and every handle thrown.

use super::building::{Building, Joint, Spot, Undone};
use super::names::Probe;
use super::network::{Bench, Situation};
use crate::call::LampState;
use crate::circuit::CircuitError;
use crate::house::Terminal;

/// What came of it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Trial {
    /// Every switch changes its light in every position, and nothing else.
    Works,
    /// Some switch does not.
    Fails,
    /// It does, and a screw shell is live with its light off.
    ShellLive,
    /// A breaker opens.
    Trips,
}

impl Building {
    /// Puts a box back: all its joints as they shall be, by name.
    ///
    /// # Errors
    /// A name that the box does not have.
    pub fn land(&mut self, outlet: &str, joints: &[Vec<String>]) -> Result<(), String> {
        let at = self.outlet_called(outlet).ok_or_else(|| format!("there is no box called {outlet}"))?;
        let spot =
            |name: &String| self.spot(name, Some(at)).ok_or_else(|| format!("no point {name} at {outlet}"));
        let mut made = Vec::new();
        for joint in joints {
            let spots: Vec<Spot> = joint.iter().map(spot).collect::<Result<_, _>>()?;
            made.push(Joint { spots, ..Joint::default() });
        }
        self.outlets[at].joints = made;
        self.outlets[at].undone = Undone::Nothing;
        Ok(())
    }

    /// Throws every handle in every position, power on, lamps good.
    ///
    /// # Errors
    /// When a network has no solution.
    pub fn try_all(&self) -> Result<Trial, CircuitError> {
        let mut worst = Trial::Works;
        for chain in &self.chains {
            let ways = 1_usize << chain.switches.len();
            let mut lit = Vec::new();
            for way in 0..ways {
                let mut situation = Situation::plain(self, true);
                for (bit, &switch) in chain.switches.iter().enumerate() {
                    situation.thrown[switch] = way >> bit & 1 == 1;
                }
                let bench = Bench::new(self, &situation)?;
                if bench.trips()? {
                    return Ok(Trial::Trips);
                }
                let seen: Vec<&str> =
                    chain.lights.iter().map(|&light| bench.watch(light)).collect::<Result<_, _>>()?;
                if seen.contains(&"dim") {
                    return Ok(Trial::Fails);
                }
                lit.push(seen.iter().map(|seen| *seen == "lit").collect::<Vec<_>>());
                if self.shell_live(&situation, chain.lights.as_slice())? {
                    worst = Trial::ShellLive;
                }
            }
            let differs = |way: usize, bit: usize| {
                lit[way].iter().zip(&lit[way ^ 1 << bit]).all(|(here, there)| here != there)
            };
            if !(0..ways).all(|way| (0..chain.switches.len()).all(|bit| differs(way, bit))) {
                return Ok(Trial::Fails);
            }
        }
        Ok(worst)
    }

    /// Whether full supply stands on a screw shell, the lamp out.
    fn shell_live(&self, situation: &Situation, lights: &[usize]) -> Result<bool, CircuitError> {
        let mut situation = situation.clone();
        situation.lamps.fill(LampState::Out);
        let bench = Bench::new(self, &situation)?;
        for &light in lights {
            let shell = Probe::At(Spot::Screw(light, Terminal::Shell));
            if bench.volts(shell, Probe::Earth, 3e3, 0.0)? > 0.5 * self.supply {
                return Ok(true);
            }
        }
        Ok(false)
    }
}
