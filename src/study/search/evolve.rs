//! How a search goes about the box: differential evolution over all of it, then steps along its sides about the best.
//!
//! Written here and not taken from a library: the libraries at hand (argmin, cmaes, metaheuristics-nature) know no
//! constraints beside the goal, no whole numbers, or no batches whose order does not hang on the threads, and the trail of
//! all trials would have to be kept around them. It is a page; the sources are named.

use std::cmp::Ordering;

use rand::rngs::Xoshiro256PlusPlus;
use rand::{RngExt as _, SeedableRng as _};

use super::score::Score;

/// A member of the population: its place in the box and its score.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Member {
    pub place: Vec<f64>,
    pub score: Score,
}

/// Chance of the search's own; a fixed one, so that a search can be done again.
pub(super) fn chance() -> Xoshiro256PlusPlus {
    Xoshiro256PlusPlus::seed_from_u64(0x5eed)
}

/// Members of a population for so many parameters.
pub(super) fn population(parameters: usize, runs: usize) -> usize {
    (10 * parameters).clamp(12, 40).min((runs / 4).max(4))
}

/// Places that fill the box evenly: a Latin hypercube (`McKay`, Beckman and Conover, Technometrics 21, 1979).
pub(super) fn spread(count: usize, sides: usize, rng: &mut Xoshiro256PlusPlus) -> Vec<Vec<f64>> {
    let mut places = vec![vec![0.0; sides]; count];
    for side in 0..sides {
        let mut strata: Vec<usize> = (0..count).collect();
        for at in (1..count).rev() {
            strata.swap(at, rng.random_range(0..=at));
        }
        for (place, stratum) in places.iter_mut().zip(strata) {
            place[side] = (stratum as f64 + rng.random_range(0.0..1.0)) / count as f64;
        }
    }
    places
}

/// A child of every member: towards a good one, and along the difference of two others (Storn and Price, J. Global Optim.
/// 11, 1997, scheme current-to-best/1 with binomial crossover). `good` are the numbers of those worth going towards.
pub(super) fn children(members: &[Member], good: &[usize], rng: &mut Xoshiro256PlusPlus) -> Vec<Vec<f64>> {
    let count = members.len();
    let one = |number: usize, rng: &mut Xoshiro256PlusPlus| {
        let me = &members[number].place;
        let [best, first, second] =
            [good[rng.random_range(0..good.len())], rng.random_range(0..count), rng.random_range(0..count)]
                .map(|number| &members[number].place);
        let weight = rng.random_range(0.4..0.9);
        let always = rng.random_range(0..me.len());
        let side = |side: usize, rng: &mut Xoshiro256PlusPlus| {
            if side != always && rng.random_range(0.0..1.0) > 0.9 {
                return me[side];
            }
            let gone = me[side] + weight * (best[side] - me[side]) + weight * (first[side] - second[side]);
            // What leaves the box comes back between its side and where it left from.
            if gone < 0.0 {
                me[side] * rng.random_range(0.0..1.0)
            } else if gone > 1.0 {
                1.0 - (1.0 - me[side]) * rng.random_range(0.0..1.0)
            } else {
                gone
            }
        };
        (0..me.len()).map(|at| side(at, rng)).collect::<Vec<f64>>()
    };
    (0..count).map(|number| one(number, rng)).collect()
}

/// Number of the best member.
pub(super) fn best(members: &[Member]) -> usize {
    let order = |a: &usize, b: &usize| members[*a].score.compare(&members[*b].score);
    (0..members.len()).min_by(order).unwrap_or_default()
}

/// Whether all members stand in one place.
pub(super) fn settled(members: &[Member]) -> bool {
    let sides = members.first().map_or(0, |member| member.place.len());
    (0..sides).all(|side| {
        let places = members.iter().map(|member| member.place[side]);
        places.clone().fold(0.0, f64::max) - places.fold(1.0, f64::min) < 1e-3
    })
}

/// Numbers of those that no other dominates, in their order. Of those that miss the constraints least: by the first goal,
/// each that is better in the second than all before it.
pub(super) fn front(scores: &[Score]) -> Vec<usize> {
    let Some(least) = scores.iter().map(|score| score.violation).min_by(f64::total_cmp) else { return Vec::new() };
    let mut order: Vec<usize> = (0..scores.len()).filter(|&number| scores[number].violation <= least).collect();
    // 0 is added because -0 stands before it in the order and is no better.
    let goals = |number: usize| scores[number].goals.map(|goal| goal + 0.0);
    let same = |a: [f64; 2], b: [f64; 2]| a.map(f64::to_bits) == b.map(f64::to_bits);
    order.sort_by(|&a, &b| {
        let ([first, second], [other_first, other_second]) = (goals(a), goals(b));
        first.total_cmp(&other_first).then(second.total_cmp(&other_second))
    });
    let mut last: Option<[f64; 2]> = None;
    order.retain(|&number| {
        let here = goals(number);
        let free = last.is_none_or(|last| here[1] < last[1] || same(here, last));
        if free {
            last = Some(here);
        }
        free
    });
    order.sort_unstable();
    order
}

/// The best `keep` for two goals: front by front, and of the last front those with the most room about them (Deb and
/// others, IEEE Trans. Evol. Comput. 6, 2002).
pub(super) fn select(mut members: Vec<Member>, keep: usize) -> Vec<Member> {
    let mut kept = Vec::with_capacity(keep);
    while kept.len() < keep && !members.is_empty() {
        let scores: Vec<Score> = members.iter().map(|member| member.score).collect();
        let front = front(&scores);
        let mut taken: Vec<Member> = front.iter().map(|&number| members[number].clone()).collect();
        let mut number = 0;
        members.retain(|_| {
            number += 1;
            front.binary_search(&(number - 1)).is_err()
        });
        let room = room(&taken);
        let mut order: Vec<usize> = (0..taken.len()).collect();
        order.sort_by(|a, b| room[*b].total_cmp(&room[*a]));
        order.truncate(keep - kept.len());
        order.sort_unstable();
        kept.extend(
            order.into_iter().map(|number| {
                std::mem::replace(&mut taken[number], Member { place: Vec::new(), score: Score::REFUSED })
            }),
        );
    }
    kept
}

/// How far the neighbours of each lie apart along the front, in shares of the front's reach; its ends have all the room.
fn room(members: &[Member]) -> Vec<f64> {
    let mut room = vec![0.0; members.len()];
    for goal in 0..2 {
        let of = |number: usize| members[number].score.goals[goal];
        let mut order: Vec<usize> = (0..members.len()).collect();
        order.sort_by(|a, b| of(*a).partial_cmp(&of(*b)).unwrap_or(Ordering::Equal));
        let (Some(&first), Some(&last)) = (order.first(), order.last()) else { continue };
        let reach = of(last) - of(first);
        room[first] = f64::INFINITY;
        room[last] = f64::INFINITY;
        if reach > 0.0 && reach.is_finite() {
            for three in order.windows(3) {
                room[three[1]] += (of(three[2]) - of(three[0])) / reach;
            }
        }
    }
    room
}

#[cfg(test)]
mod tests {
    use super::*;

    fn member(a: f64, b: f64) -> Member {
        Member { place: vec![a], score: Score { violation: 0.0, goals: [a, b] } }
    }

    #[test]
    fn a_spread_has_one_place_in_every_stratum() {
        let places = spread(10, 3, &mut chance());
        for side in 0..3 {
            let mut strata: Vec<usize> = places.iter().map(|place| (place[side] * 10.0) as usize).collect();
            strata.sort_unstable();
            assert_eq!(strata, (0..10).collect::<Vec<_>>());
        }
    }

    #[test]
    fn children_stay_in_the_box_and_settle_with_their_parents() {
        let mut rng = chance();
        let members: Vec<Member> = (0..20).map(|number| member(f64::from(number) / 19.0, 0.0)).collect();
        for _ in 0..50 {
            let children = children(&members, &[0, 19], &mut rng);
            assert!(children.iter().all(|place| (0.0..=1.0).contains(&place[0])));
        }
        assert!(!settled(&members) && settled(&vec![member(0.3, 0.0); 5]));
        assert_eq!(best(&members), 0);
    }

    #[test]
    fn fronts_keep_their_ends_and_their_spread() {
        let mut members: Vec<Member> = (0..=10).map(|x| member(f64::from(x), f64::from(10 - x))).collect();
        members.push(member(5.01, 5.01));
        members.push(member(11.0, 11.0));
        let scores: Vec<Score> = members.iter().map(|member| member.score).collect();
        assert_eq!(front(&scores), (0..=10).collect::<Vec<_>>());
        let kept = select(members, 5);
        assert_eq!(kept.len(), 5);
        let goals: Vec<f64> = kept.iter().map(|member| member.score.goals[0]).collect();
        assert!(goals.contains(&0.0) && goals.contains(&10.0) && !goals.contains(&11.0), "{goals:?}");
    }

    /// By the definition, all against all; with equal ones, zeros of both signs, and goals that were not measured.
    #[test]
    fn fronts_are_what_no_other_dominates() {
        let mut rng = chance();
        let goals = [-1.0, -0.0, 0.0, 1.0, 2.0, f64::INFINITY];
        for count in 0..200 {
            let mut goal = || goals[rng.random_range(0..goals.len())];
            let scores: Vec<Score> =
                (0..count % 25).map(|_| Score { violation: goal().max(0.0) + 0.0, goals: [goal(), goal()] }).collect();
            let free = |number: &usize| !scores.iter().any(|other| other.dominates(&scores[*number]));
            assert_eq!(front(&scores), (0..scores.len()).filter(free).collect::<Vec<_>>(), "{scores:?}");
        }
    }
}
