//! In which order places stand one below the other, so that the cables in the margin cross as little as they can.

/// Up to so many places every order is tried; with more the given order, in which no tree has a crossing.
const TRIED: usize = 6;

/// The orders of places with the fewest crossings, nearest to the given one first. The first place stays first.
pub(super) fn best(places: usize, cables: &[[usize; 2]]) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..places).collect();
    if places == 0 || places > TRIED {
        return vec![order];
    }
    let mut all = vec![(crossings(&order, cables), order.clone())];
    while next(&mut order[1..]) {
        all.push((crossings(&order, cables), order.clone()));
    }
    let fewest = all.iter().map(|(count, _)| *count).min();
    all.into_iter().filter(|(count, _)| Some(*count) == fewest).map(|(_, order)| order).collect()
}

/// How many pairs of cables cross, all being drawn on one side.
pub(super) fn crossings(order: &[usize], cables: &[[usize; 2]]) -> usize {
    let at = |place: usize| order.iter().position(|p| *p == place).unwrap_or(0);
    let spans: Vec<[usize; 2]> = cables.iter().map(|&[a, b]| [at(a).min(at(b)), at(a).max(at(b))]).collect();
    let cross = |one: [usize; 2], two: [usize; 2]| one[0] < two[0] && two[0] < one[1] && one[1] < two[1];
    spans
        .iter()
        .enumerate()
        .map(|(n, &one)| spans[n + 1..].iter().filter(|&&two| cross(one, two) || cross(two, one)).count())
        .sum()
}

/// The next permutation in lexicographic order; false after the last.
fn next(order: &mut [usize]) -> bool {
    let Some(at) = (1..order.len()).rev().find(|&n| order[n - 1] < order[n]) else { return false };
    let Some(with) = (at..order.len()).rev().find(|&n| order[n] > order[at - 1]) else { return false };
    order.swap(at - 1, with);
    order[at..].reverse();
    true
}

/// The lane of each cable in the margin, counted from the boxes, where the cables lie between these heights.
pub(super) fn lanes(spans: &[(f64, f64)]) -> Vec<usize> {
    let mut by_length: Vec<usize> = (0..spans.len()).collect();
    by_length.sort_by(|&a, &b| {
        let length = |n: usize| spans[n].1 - spans[n].0;
        length(a).total_cmp(&length(b)).then(a.cmp(&b))
    });
    let mut lanes: Vec<Option<usize>> = vec![None; spans.len()];
    for &n in &by_length {
        let beside = |m: &usize| spans[*m].0 <= spans[n].1 && spans[n].0 <= spans[*m].1;
        let inner = (0..spans.len()).filter(beside).filter_map(|m| lanes[m]).max();
        lanes[n] = Some(inner.map_or(0, |lane| lane + 1));
    }
    lanes.into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::{best, crossings, lanes};

    /// Every tree and every ring lies flat on one page (outerplanar graphs are those of book thickness one: Bernhart and
    /// Kainen, The book thickness of a graph, 1979).
    #[test]
    fn trees_and_rings_have_no_crossing() {
        let star_of_paths = [[0, 1], [1, 2], [0, 3], [3, 4], [0, 5]];
        let crossed_ring = [[0, 2], [2, 1], [1, 3], [3, 0]];
        for (places, cables) in [(6, star_of_paths.as_slice()), (4, &crossed_ring)] {
            assert_eq!(crossings(&best(places, cables)[0], cables), 0);
        }
        assert_eq!(crossings(&[0, 1, 2, 3], &crossed_ring), 1);
    }

    /// The complete graph on four places is not outerplanar: one crossing must stay.
    #[test]
    fn what_cannot_be_flat_keeps_one() {
        let all = [[0, 1], [0, 2], [0, 3], [1, 2], [1, 3], [2, 3]];
        assert_eq!(crossings(&best(4, &all)[0], &all), 1);
    }

    #[test]
    fn a_longer_cable_lies_outside_a_shorter_one() {
        assert_eq!(lanes(&[(0.0, 9.0), (1.0, 3.0), (4.0, 8.0)]), [1, 0, 0]);
    }
}
