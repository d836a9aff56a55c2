//! What a scheme was shown to do, in a line.

use crate::house::Terminal;
use crate::practice::proof::{Control, Proof, Shown};

/// One line: which switches control the light, what trips, what is live when it is off.
pub fn proof(proofs: &[Proof]) -> String {
    let mut lengths: Vec<usize> = proofs.iter().map(|proof| proof.chain.len()).collect();
    lengths.sort_unstable();
    lengths.dedup();
    let most = lengths.last().copied().unwrap_or(0);
    let lengths: Vec<String> = lengths.iter().map(usize::to_string).collect();
    let switches = format!("{} {}", lengths.join(", "), if most == 1 { "switch" } else { "switches" });
    let parts = [
        control(proofs),
        times(proofs, "lit", |proof| proof.shown(Shown::Lit)),
        some(proofs, "trips", "nothing trips", |proof| proof.shown(Shown::Trips)),
        live(proofs),
    ];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    format!("{switches}: {}", parts.join("; "))
}

/// Which switches have a say, and when.
fn control(proofs: &[Proof]) -> String {
    let switches = |proof: &Proof| (0..proof.chain.len()).map(|at| proof.control(at)).collect::<Vec<_>>();
    if proofs.iter().all(|proof| switches(proof).iter().all(|control| *control == Control::Always)) {
        return "each controls the light in every position".to_owned();
    }
    // What a switch has to say may depend on how many there are.
    let several = proofs.iter().any(|proof| proof.chain.len() != proofs[0].chain.len());
    let mut said: Vec<String> = Vec::new();
    for proof in proofs {
        let beside = if several { format!(" of {}", proof.chain.len()) } else { String::new() };
        for (at, control) in switches(proof).into_iter().enumerate() {
            let when = match control {
                Control::Always => "in every position",
                Control::Sometimes => "in some positions",
                Control::Never => "in none",
            };
            let part = format!("{}{beside} controls the light {when}", proof.chain[at].0);
            if !said.contains(&part) {
                said.push(part);
            }
        }
    }
    said.join(", ")
}

/// In how many of how many positions, for each chain, each said once.
fn shares(proofs: &[Proof], of: impl Fn(&Proof) -> Vec<usize>) -> Vec<String> {
    let mut said = Vec::new();
    for proof in proofs {
        let legs = if proof.opposite { " on opposite legs" } else { "" };
        let share = format!("{} of {}{legs}", of(proof).len(), proof.throws.len());
        if !said.contains(&share) {
            said.push(share);
        }
    }
    said
}

fn times(proofs: &[Proof], word: &str, of: impl Fn(&Proof) -> Vec<usize>) -> String {
    format!("{word} in {}", shares(proofs, of).join(", "))
}

fn some(proofs: &[Proof], word: &str, none: &str, of: impl Fn(&Proof) -> Vec<usize>) -> String {
    if proofs.iter().all(|proof| of(proof).is_empty()) { none.to_owned() } else { times(proofs, word, of) }
}

/// What is live while the light is off.
fn live(proofs: &[Proof]) -> String {
    let contact = |contact: Terminal| {
        let some = proofs.iter().any(|proof| !proof.live_when_off(contact).is_empty());
        some.then(|| times(proofs, &format!("its {}", contact.word()), |proof| proof.live_when_off(contact)))
    };
    let contacts: Vec<String> = [Terminal::Center, Terminal::Shell].into_iter().filter_map(contact).collect();
    match contacts.as_slice() {
        [] => "nothing at it is live when it is off".to_owned(),
        contacts => format!("live when it is off: {}", contacts.join(", ")),
    }
}
