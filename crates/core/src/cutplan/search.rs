//! Exact search inside the gap between a bound and the best plan known.
//!
//! At the prices of a [`Bound`] each choice costs something extra over the bound, never less than nothing, and
//! the extras of a plan add up to its distance from the bound. So all plans within a distance δ are made of
//! choices whose extras sum to δ at most: few. Wants of one stock meet only in the number of rolls per length,
//! which merges most of the rest; shared wants are assigned to stocks by depth-first search, each stock's
//! answer being remembered for the wants it was given.

use std::collections::HashMap;
use std::rc::Rc;

use super::bound::{Bound, Bounder};
use super::counts::{Counts, Exhausted, FastMap, Fuel};
use super::model::Roll;
use super::options::{Serve, servings};
use super::pack::{Packer, match_rolls};
use super::sub::Phase;

/// One worthwhile way to serve a set of wants from one stock.
#[derive(Debug, Clone)]
struct Label {
    /// The goal of the phase: cost, or unmet frames in units.
    goal: f64,
    extra: f64,
    rolls: u32,
    unmet: u64,
    counts: Counts,
    node: u32,
}

/// How a label came about: the serving of the last want, and what went before.
#[derive(Debug, Clone, Copy)]
struct Node {
    parent: u32,
    want: u32,
    serve: u32,
}

const ROOT: u32 = u32::MAX;

/// The answer of one stock for one set of wants.
#[derive(Debug)]
struct Answer {
    labels: Vec<Label>,
    nodes: Vec<Node>,
}

/// A search over one part, phase and bound.
pub(super) struct Search<'a> {
    bounder: &'a Bounder<'a>,
    bound: &'a Bound,
    packers: Vec<Packer<'a>>,
    /// By want and stock, of the present round.
    serves: HashMap<(usize, usize), Rc<Vec<Serve>>>,
    answers: HashMap<(usize, Vec<usize>), Rc<Answer>>,
    within: f64,
    found: Option<(f64, Vec<Roll>)>,
}

impl<'a> Search<'a> {
    pub(super) fn new(bounder: &'a Bounder<'a>, bound: &'a Bound) -> Self {
        let packers = bounder
            .sub
            .stocks
            .iter()
            .map(|cans| Packer::new(bounder.model, cans))
            .collect();
        Self {
            bounder,
            bound,
            packers,
            serves: HashMap::new(),
            answers: HashMap::new(),
            within: 0.0,
            found: None,
        }
    }

    /// The best plan whose goal is at most `within` above the bound, if there is one.
    pub(super) fn round(
        &mut self,
        within: f64,
        fuel: &mut Fuel,
    ) -> Result<Option<Vec<Roll>>, Exhausted> {
        self.serves.clear();
        self.answers.clear();
        self.within = within;
        self.found = None;
        let wants = &self.bounder.sub.wants;
        let mut given: Vec<Vec<usize>> = vec![Vec::new(); self.bounder.sub.stocks.len()];
        let mut shared = Vec::new();
        for (w, want) in wants.iter().enumerate() {
            match want.stocks.as_slice() {
                [only] => given[*only].push(w),
                _ => shared.push(w),
            }
        }
        // Wants of the stock with the fewest shared wants first, so that stocks are complete early.
        let mut order: Vec<usize> = Vec::new();
        let mut complete: Vec<Vec<usize>> = vec![Vec::new()];
        let mut open: Vec<usize> = (0..given.len()).collect();
        while !open.is_empty() {
            let pending = |s: usize, order: &[usize]| {
                shared
                    .iter()
                    .filter(|w| wants[**w].stocks.contains(&s) && !order.contains(w))
                    .count()
            };
            let next = open
                .iter()
                .copied()
                .min_by_key(|&s| (pending(s, &order), s))
                .unwrap_or(0);
            for &w in &shared {
                if wants[w].stocks.contains(&next) && !order.contains(&w) {
                    order.push(w);
                    complete.push(Vec::new());
                }
            }
            complete[order.len()].push(next);
            open.retain(|&s| s != next);
        }
        let result = self.assign(0, &order, &complete, &mut given, 0.0, &mut Vec::new(), fuel);
        match (result, self.found.take()) {
            (Ok(()), found) => Ok(found.map(|f| f.1)),
            (Err(Exhausted), _) => Err(Exhausted),
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn assign(
        &mut self,
        k: usize,
        order: &[usize],
        complete: &[Vec<usize>],
        given: &mut Vec<Vec<usize>>,
        extra: f64,
        done: &mut Vec<(usize, Rc<Answer>)>,
        fuel: &mut Fuel,
    ) -> Result<(), Exhausted> {
        fuel.burn(1)?;
        let mut extra = extra;
        let before = done.len();
        let mut dead = false;
        for &s in &complete[k] {
            let answer = self.answer(s, &given[s], fuel)?;
            let least = answer
                .labels
                .iter()
                .map(|l| l.extra)
                .fold(f64::INFINITY, f64::min);
            // The extras of the wants given to this stock are inside its labels: count them once.
            extra += least - self.given_extra(s, &given[s], fuel)?;
            done.push((s, answer));
            if self.within < extra {
                dead = true;
                break;
            }
        }
        if !dead {
            if k == order.len() {
                self.combine(done, fuel)?;
            } else {
                let w = order[k];
                let mut choices = Vec::new();
                for &s in &self.bounder.sub.wants[w].stocks {
                    if let Some(best) = self.serves(w, s, fuel)?.first() {
                        choices.push((best.extra, s));
                    }
                }
                choices.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                for (e, s) in choices {
                    if extra + e <= self.within {
                        let at = given[s].partition_point(|&x| x < w);
                        given[s].insert(at, w);
                        self.assign(k + 1, order, complete, given, extra + e, done, fuel)?;
                        given[s].retain(|&x| x != w);
                    }
                }
            }
        }
        done.truncate(before);
        Ok(())
    }

    /// Sum of the least extras of the shared wants given to a stock.
    fn given_extra(
        &mut self,
        s: usize,
        wants: &[usize],
        fuel: &mut Fuel,
    ) -> Result<f64, Exhausted> {
        let mut sum = 0.0;
        for &w in wants {
            if 1 < self.bounder.sub.wants[w].stocks.len() {
                sum += self.serves(w, s, fuel)?.first().map_or(0.0, |b| b.extra);
            }
        }
        Ok(sum)
    }

    fn serves(&mut self, w: usize, s: usize, fuel: &mut Fuel) -> Result<Rc<Vec<Serve>>, Exhausted> {
        if let Some(known) = self.serves.get(&(w, s)) {
            return Ok(known.clone());
        }
        let b = self.bounder;
        let serving = b.serving(w, s, &self.bound.prices);
        let want = &b.model.wants[b.sub.wants[w].want];
        let base = self.bound.want[w];
        let list = Rc::new(servings(
            b.model,
            want,
            &serving,
            base,
            base + self.within,
            fuel,
        )?);
        self.serves.insert((w, s), list.clone());
        Ok(list)
    }

    /// All worthwhile ways to serve `wants` from stock `s` within the present distance.
    fn answer(
        &mut self,
        s: usize,
        wants: &[usize],
        fuel: &mut Fuel,
    ) -> Result<Rc<Answer>, Exhausted> {
        let key = (s, wants.to_vec());
        if let Some(known) = self.answers.get(&key) {
            return Ok(known.clone());
        }
        let limit = self.bounder.sub.limit;
        let room = self.packers[s].room_m();
        let mut nodes: Vec<Node> = Vec::new();
        // Sets of rolls reached so far: (counts, unmet, extra, node), in the order they were reached.
        let mut layer: Vec<(Counts, u64, f64, u32)> = vec![(Counts::NONE, 0, 0.0, ROOT)];
        for &w in wants {
            let serves = self.serves(w, s, fuel)?;
            let mut next: Vec<(Counts, u64, f64, u32)> = Vec::new();
            let mut seen: FastMap<Counts, usize> = FastMap::default();
            for &(counts, unmet, extra, parent) in &layer {
                for (o, serve) in serves.iter().enumerate() {
                    let e = extra + serve.extra;
                    if self.within < e {
                        break;
                    }
                    fuel.burn(1)?;
                    let sum = counts.plus(&serve.rolls).ok_or(Exhausted)?;
                    if self.too_many(s, &sum)
                        || limit < sum.rolls()
                        || room < self.packers[s].draw_m(&sum)
                    {
                        continue;
                    }
                    let u = unmet + serve.unmet;
                    let at = *seen.entry(sum).or_insert(next.len());
                    let new = at == next.len();
                    if new || u < next[at].1 {
                        nodes.push(Node {
                            parent,
                            want: w as u32,
                            serve: o as u32,
                        });
                        let it = (sum, u, e, nodes.len() as u32 - 1);
                        if new { next.push(it) } else { next[at] = it }
                    }
                }
            }
            layer = next;
        }
        layer.sort_by(|a, b| a.2.total_cmp(&b.2).then(a.0.cmp(&b.0)));
        let b = self.bounder;
        let money = b.phase.money();
        let single = !b.limited && b.target().is_none();
        let cans: f64 = self.bound.can[s].iter().sum();
        let handling = |c: &Counts| c.dot(b.model.lengths.iter().map(|l| l.handling));
        let mut labels: Vec<Label> = Vec::new();
        let mut within = self.within;
        for &(counts, unmet, extra, node) in &layer {
            if within < extra {
                break;
            }
            let Some(slack) = self.box_slack(s, &counts) else {
                continue;
            };
            let extra = extra + slack;
            let price = counts.dot(self.bound.prices.roll[s].iter().copied());
            let allowance = within - extra + cans + price;
            let slack = 1e-12 * (allowance.abs() + price + cans.abs());
            let rolls = counts.rolls();
            let beaten =
                |l: &Label, goal: f64| l.goal <= goal && l.rolls <= rolls && l.unmet <= unmet;
            let Some(film) = self.packers[s].pack(&counts, (allowance + slack) / money, fuel)?
            else {
                continue;
            };
            let goal = match b.phase {
                Phase::Unmet { .. } => unmet as f64 / b.unit + money * (film + handling(&counts)),
                Phase::Cost { .. } => film + handling(&counts),
            };
            if labels.iter().any(|l| beaten(l, goal)) {
                continue;
            }
            let extra = (extra + money * film - cans - price).max(0.0);
            if single {
                within = within.min(extra);
                labels.clear();
            }
            labels.retain(|l| !(goal <= l.goal && rolls <= l.rolls && unmet <= l.unmet));
            labels.push(Label {
                goal,
                extra,
                rolls,
                unmet,
                counts,
                node,
            });
        }
        let answer = Rc::new(Answer { labels, nodes });
        self.answers.insert(key, answer.clone());
        Ok(answer)
    }

    fn too_many(&self, s: usize, counts: &Counts) -> bool {
        self.bounder
            .sub
            .boxes
            .iter()
            .any(|b| b.stock == s && b.most < counts.0[b.length])
    }

    /// What the rolls of a stock pay for staying away from the limits of their boxes; nothing outside them.
    fn box_slack(&self, s: usize, counts: &Counts) -> Option<f64> {
        let mut slack = 0.0;
        for b in self.bounder.sub.boxes.iter().filter(|b| b.stock == s) {
            let n = counts.0[b.length];
            if n < b.least || b.most < n {
                return None;
            }
            let price = self.bound.prices.boxed[s][b.length];
            slack += price * (f64::from(if 0.0 < price { b.most } else { b.least }) - f64::from(n));
        }
        Some(slack)
    }

    /// The best combination of one label per stock; kept if it is the best so far.
    fn combine(&mut self, done: &[(usize, Rc<Answer>)], fuel: &mut Fuel) -> Result<(), Exhausted> {
        #[derive(Clone)]
        struct Mix {
            goal: f64,
            extra: f64,
            rolls: u32,
            unmet: u64,
            picks: Vec<usize>,
        }
        let b = self.bounder;
        let target = match b.phase {
            Phase::Unmet { .. } => u64::MAX,
            Phase::Cost { target } => target,
        };
        let mut mixes = vec![Mix {
            goal: 0.0,
            extra: 0.0,
            rolls: 0,
            unmet: 0,
            picks: Vec::new(),
        }];
        for (_, answer) in done {
            let mut next: Vec<Mix> = Vec::new();
            for mix in &mixes {
                for (p, l) in answer.labels.iter().enumerate() {
                    fuel.burn(1)?;
                    let (extra, rolls, unmet) = (
                        mix.extra + l.extra,
                        mix.rolls + l.rolls,
                        mix.unmet + l.unmet,
                    );
                    let goal = mix.goal + l.goal;
                    if self.within < extra || b.sub.limit < rolls || target < unmet {
                        continue;
                    }
                    if next
                        .iter()
                        .any(|n| n.goal <= goal && n.rolls <= rolls && n.unmet <= unmet)
                    {
                        continue;
                    }
                    fuel.burn(next.len() as u64 / 8)?;
                    next.retain(|n| !(goal <= n.goal && rolls <= n.rolls && unmet <= n.unmet));
                    let mut picks = mix.picks.clone();
                    picks.push(p);
                    next.push(Mix {
                        goal,
                        extra,
                        rolls,
                        unmet,
                        picks,
                    });
                }
            }
            mixes = next;
        }
        let slack = 1e-12 * (self.bound.value.abs() + self.within);
        for mix in mixes {
            let distance = mix.goal - self.bound.value;
            if distance <= self.within + slack && self.found.as_ref().is_none_or(|f| mix.goal < f.0)
            {
                let rolls = self.rolls(done, &mix.picks);
                self.found = Some((mix.goal, rolls));
                self.within = self.within.min(distance.max(0.0));
            }
        }
        Ok(())
    }

    /// The rolls of a combination: rolls of one length go to wants and cans in their order.
    fn rolls(&self, done: &[(usize, Rc<Answer>)], picks: &[usize]) -> Vec<Roll> {
        let b = self.bounder;
        let mut rolls = Vec::new();
        for ((s, answer), &p) in done.iter().zip(picks) {
            let label = &answer.labels[p];
            let mut demand: Vec<(usize, Counts)> = Vec::new();
            let mut at = label.node;
            while at != ROOT {
                let node = answer.nodes[at as usize];
                let w = node.want as usize;
                let serve = &self.serves[&(w, *s)][node.serve as usize];
                demand.push((b.sub.wants[w].want, serve.rolls));
                at = node.parent;
            }
            demand.sort_unstable_by_key(|d| d.0);
            let supply = self.packers[*s].found(&label.counts).unwrap_or(&[]);
            let supply: Vec<(usize, Counts)> = b.sub.stocks[*s]
                .iter()
                .copied()
                .zip(supply.iter().copied())
                .collect();
            rolls.extend(match_rolls(b.model.lengths.len(), &demand, &supply));
        }
        rolls
    }
}
