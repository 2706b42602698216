//! Branch and bound: over the stocks of shared wants, and within one stock over how many rolls of a length it gives.
//!
//! A node's bound is computed afresh, so it rises quickly. Once each want has one stock, the stocks are independent but for the cassettes, and each is solved by itself and
//! remembered.

use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashMap};

use super::bound::{Bound, Bounder};
use super::counts::Fuel;
use super::dive::{First, dive};
use super::greedy::greedy;
use super::lp::Column;
use super::model::{Model, Roll};
use super::part::{Aim, Solved, refine, search_gap};
use super::sub::{Phase, RollBox, Sub, SubWant};
use super::whole::assemble;

/// Parts of one stock that were solved before.
#[derive(Debug, Default)]
pub(super) struct Leaves {
    known: HashMap<(Option<usize>, Vec<usize>, u32), Solved>,
    /// Whether to branch within a stock.
    thorough: bool,
    /// Work allowed for the whole of which these are leaves.
    work: u64,
}

impl Leaves {
    fn solve(&mut self, model: &Model, sub: &Sub, fuel: &mut Fuel) -> Solved {
        let limit = sub.limit.min(sub.rolls_at_most(model));
        let key = (
            sub.stocks[0].first().copied(),
            sub.wants.iter().map(|w| w.want).collect(),
            limit,
        );
        let mut first = None;
        if let Some(known) = self.known.get(&key) {
            if known.proven() || !self.thorough {
                return known.clone();
            }
            first = Some(known.rolls.clone());
        }
        let first = first.unwrap_or_else(|| greedy(model, sub));
        let branch = if self.thorough { u64::MAX } else { 0 };
        let solved = refine(model, sub, first, branch, fuel);
        self.known.insert(key, solved.clone());
        solved
    }

    /// A part of one stock, with branching.
    pub(super) fn exact(&mut self, model: &Model, sub: &Sub, fuel: &mut Fuel) -> Solved {
        let thorough = std::mem::replace(&mut self.thorough, true);
        let solved = fuel.portion(fuel.0 / 20, |fuel| self.solve(model, sub, fuel));
        self.thorough = thorough;
        solved
    }

    /// The best plan with each want of `sub` coming from the stock of `choice`.
    pub(super) fn evaluate(
        &mut self,
        model: &Model,
        sub: &Sub,
        choice: &[usize],
        fuel: &mut Fuel,
    ) -> Solved {
        let parts: Vec<Sub> = sub
            .stocks
            .iter()
            .enumerate()
            .map(|(s, cans)| Sub {
                stocks: vec![cans.clone()],
                wants: sub
                    .wants
                    .iter()
                    .zip(choice)
                    .filter(|(_, c)| **c == s)
                    .map(|(w, _)| SubWant {
                        want: w.want,
                        stocks: vec![0],
                    })
                    .collect(),
                limit: sub.limit,
                boxes: Vec::new(),
            })
            .filter(|part| !part.wants.is_empty())
            .collect();
        assemble(sub.limit, &parts, &mut |part| {
            let most = self.work / if self.thorough { 20 } else { 200 };
            fuel.portion(most, |fuel| self.solve(model, part, fuel))
        })
    }
}

struct Node {
    bound: f64,
    /// What the nodes are taken by: the bound, or the unmet frames it stands for.
    rank: f64,
    number: u64,
    sub: Sub,
}

impl PartialEq for Node {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Node {}
impl PartialOrd for Node {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Node {
    /// The greatest is the node of lowest rank, and of these the newest.
    fn cmp(&self, other: &Self) -> Ordering {
        other
            .rank
            .total_cmp(&self.rank)
            .then(self.number.cmp(&other.number))
    }
}

/// Branch and bound over one part and phase.
pub(super) struct Tree<'a> {
    pub(super) model: &'a Model,
    pub(super) sub: &'a Sub,
    pub(super) aim: Aim,
    pub(super) leaves: &'a mut Leaves,
    pub(super) pool: Vec<Column>,
    /// Moves of single wants still to be tried.
    pub(super) moves: u64,
    /// Work allowed in all.
    pub(super) work: u64,
}

impl Tree<'_> {
    /// Improve `it` by branching; returns a lower bound of the phase's goal, infinite if no plan does better.
    pub(super) fn explore(&mut self, it: &mut Solved, root: f64, fuel: &mut Fuel) -> f64 {
        self.leaves.work = self.work;
        let mut open = BinaryHeap::from([Node {
            bound: root,
            rank: self.aim.rank(root),
            number: 0,
            sub: self.sub.clone(),
        }]);
        let mut unproven = f64::INFINITY;
        let mut number = 0;
        let mut visited = 0u64;
        while let Some(node) = open.pop() {
            // Nodes come in the order of a rank, not of the bound itself: a later one may still be worth a look.
            if self.aim.must_reach(it.score) < node.bound {
                continue;
            }
            if fuel.burn(1).is_err() {
                return unproven.min(node.bound);
            }
            visited += 1;
            let mut bounder = Bounder::new(self.model, &node.sub, self.aim.phase);
            let (bound, relaxed) = bounder.bound(&mut self.pool, fuel);
            let value = bound.value.max(node.bound);
            if self.aim.must_reach(it.score) < value {
                continue;
            }
            // Rounding is cheap where there is one stock; elsewhere the leaves do better.
            if self.sub.stocks.len() == 1 || visited.is_multiple_of(16) {
                let first = [First::Nearest, First::Cans, First::Wants][number as usize % 3];
                let rolls = dive(&mut bounder, relaxed, &mut self.pool, fuel, first);
                self.offer(it, rolls);
            }
            let (children, floor) = if self.sub.stocks.len() == 1 {
                self.split_lengths(&bounder, &bound, value, it, fuel)
            } else {
                self.split_stocks(&node.sub, &bound, value, it, fuel)
            };
            let closed = self.aim.must_reach(it.score) < floor;
            if children.is_empty() && !closed {
                unproven = unproven.min(floor);
            }
            if !closed {
                for sub in children {
                    number += 1;
                    open.push(Node {
                        bound: value,
                        rank: self.aim.rank(value),
                        number,
                        sub,
                    });
                }
            }
        }
        unproven
    }

    fn offer(&self, it: &mut Solved, rolls: Vec<Roll>) {
        let score = self.sub.score(self.model, &rolls);
        if score.beats(it.score, self.model.roll_tie) {
            it.score = score;
            it.rolls = rolls;
        }
    }

    /// Move single wants to other stocks as long as that helps.
    fn polish(&mut self, mut choice: Vec<usize>, it: &mut Solved, fuel: &mut Fuel) {
        let sub = self.sub;
        let mut since = 0;
        for (w, want) in sub.wants.iter().enumerate().cycle() {
            if sub.wants.len() < since {
                break;
            }
            since += 1;
            for &s in &want.stocks {
                let old = choice[w];
                if s == old || self.moves == 0 {
                    continue;
                }
                self.moves -= 1;
                choice[w] = s;
                let leaf = self.leaves.evaluate(self.model, sub, &choice, fuel);
                if leaf.score.beats(it.score, self.model.roll_tie) {
                    self.offer(it, leaf.rolls);
                    since = 0;
                } else {
                    choice[w] = old;
                }
            }
        }
    }

    /// Several stocks: solve the assignment the relaxed solution leans to, then split on a shared want.
    fn split_stocks(
        &mut self,
        sub: &Sub,
        bound: &Bound,
        value: f64,
        it: &mut Solved,
        fuel: &mut Fuel,
    ) -> (Vec<Sub>, f64) {
        let choice: Vec<usize> = sub
            .wants
            .iter()
            .zip(&bound.share)
            .map(|(want, share)| {
                let of = |s: usize| share.iter().find(|x| x.0 == s).map_or(0.0, |x| x.1);
                want.stocks
                    .iter()
                    .copied()
                    .fold(want.stocks[0], |a, b| if of(a) < of(b) { b } else { a })
            })
            .collect();
        let leaf = self.leaves.evaluate(self.model, sub, &choice, fuel);
        let reached = self.aim.phase.goal(leaf.score, sub.weight_unit(self.model));
        if leaf.score.beats(it.score, self.model.roll_tie) {
            self.offer(it, leaf.rolls);
            self.polish(choice.clone(), it, fuel);
        }
        if reached <= value + 1e-10 * value.abs() {
            return (Vec::new(), value);
        }
        // The want whose stock is least decided; if all are decided, the first that still has a choice.
        let undecided =
            |w: usize| (1.0 - bound.share[w].iter().map(|x| x.1).fold(0.0, f64::max)).max(0.0);
        let shared = (0..sub.wants.len()).filter(|&w| 1 < sub.wants[w].stocks.len());
        let Some(w) = shared.reduce(|a, b| {
            if undecided(a) + 1e-6 < undecided(b) {
                b
            } else {
                a
            }
        }) else {
            // Every want has its stock: the leaf is this node's answer.
            self.leaves.thorough = true;
            let leaf = self.leaves.evaluate(self.model, sub, &choice, fuel);
            self.leaves.thorough = false;
            self.offer(it, leaf.rolls.clone());
            let floor = match self.aim.phase {
                Phase::Cost { target } if leaf.floor.unmet < target => value,
                _ => self
                    .aim
                    .phase
                    .goal(leaf.floor, sub.weight_unit(self.model))
                    .max(value),
            };
            return (Vec::new(), floor);
        };
        let others: Vec<usize> = sub.wants[w]
            .stocks
            .iter()
            .copied()
            .filter(|&s| s != choice[w])
            .collect();
        let child = |stocks| {
            let mut child = sub.clone();
            child.wants[w].stocks = stocks;
            child
        };
        (vec![child(others), child(vec![choice[w]])], value)
    }

    /// One stock: search a little, then split on the number of rolls of a length.
    fn split_lengths(
        &mut self,
        bounder: &Bounder<'_>,
        bound: &Bound,
        value: f64,
        it: &mut Solved,
        fuel: &mut Fuel,
    ) -> (Vec<Sub>, f64) {
        let (sub, served) = (bounder.sub, &bound.served[0]);
        let uneven = |a: usize| (served[a] - served[a].round()).abs();
        let widest =
            (0..served.len()).reduce(|a, b| if uneven(a) + 1e-9 < uneven(b) { b } else { a });
        let split = widest.filter(|&a| 1e-5 < uneven(a) && served[a] < 250.0);
        let reach = self.aim.must_reach(it.score);
        let most = self.work / if split.is_some() { 500 } else { 40 };
        let (rolls, floor) = fuel.portion(most, |fuel| search_gap(bounder, bound, reach, fuel));
        if let Some(rolls) = rolls {
            self.offer(it, rolls);
            return (Vec::new(), f64::INFINITY);
        }
        let floor = floor.max(value);
        if floor == f64::INFINITY {
            return (Vec::new(), floor);
        }
        let old_box = |a: usize| {
            sub.boxes
                .iter()
                .find(|b| b.length == a)
                .map_or((0, u8::MAX), |b| (b.least, b.most))
        };
        // All whole: take the most used length whose number is still open, and set it.
        let open = |&a: &usize| old_box(a).0 < old_box(a).1 && served[a] < 250.0;
        let most_used = || {
            (0..served.len())
                .filter(open)
                .reduce(|a, b| if served[a] < served[b] { b } else { a })
        };
        let Some(a) = split.or_else(most_used) else {
            return (Vec::new(), floor);
        };
        let below = served[a].floor() as u8;
        let old = sub.boxes.iter().position(|b| b.length == a);
        let child = |least: u8, most: u8| {
            let mut child = sub.clone();
            match old {
                Some(k) => {
                    child.boxes[k].least = child.boxes[k].least.max(least);
                    child.boxes[k].most = child.boxes[k].most.min(most);
                }
                None => child.boxes.push(RollBox {
                    stock: 0,
                    length: a,
                    least,
                    most,
                }),
            }
            child
        };
        if split.is_some() {
            return (vec![child(0, below), child(below + 1, u8::MAX)], floor);
        }
        let at = served[a].round() as u8;
        let (least, most) = old_box(a);
        let mut children = vec![child(at, at)];
        if least < at {
            children.push(child(0, at - 1));
        }
        if at < most {
            children.push(child(at + 1, u8::MAX));
        }
        (children, floor)
    }
}
