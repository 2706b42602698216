//! The search: best first over the rolls that are left.
//!
//! Of the rolls of one group that are left, the one whose longest time is shortest leads the next run. A run may take
//! the longest time that all of its rolls allow, so the leader's: beside it may go whoever allows that time. Of two such
//! rolls of one size the one with the shorter longest time goes first; for where the other would have gone first, the
//! two can change places: both allow the leader's time, and any later time that the first allows the second does too.
//! So a step says only how many of each size join, and three kinds of steps are never looked at: one that a further
//! roll of some size could join at no cost; one in which a longer roll that must be done sooner could take a shorter
//! one's place at no cost; and one that cannot beat the best plan known.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

use super::Effort;
use super::bound::Bound;
use super::limits::MAX_ROLLS;
use super::model::{Fit, Model};

/// Most states that are kept.
const MAX_NODES: usize = 300_000;
/// Plans followed side by side where a proof is out of reach (up to 60 rolls; fewer for more), and loadings looked at
/// for each step of each.
const BEAM: (usize, u64) = (24, 400);

/// What is made least, in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Cost {
    pub unloaded: usize,
    pub runs: usize,
    pub ml: i64,
}

impl Cost {
    pub(super) fn plus(self, other: Self) -> Self {
        Self {
            unloaded: self.unloaded + other.unloaded,
            runs: self.runs + other.runs,
            ml: self.ml + other.ml,
        }
    }
}

/// One run: its rolls from the longest to the shortest.
#[derive(Debug, Clone)]
pub(super) struct Loaded {
    pub rolls: Vec<usize>,
    pub fit: Fit,
}

#[derive(Debug, Default)]
pub(super) struct Found {
    pub runs: Vec<Loaded>,
    /// Rolls for which no dry reel was left.
    pub out: Vec<usize>,
    /// Rolls that go into no tank.
    pub never: Vec<usize>,
    pub proven: bool,
    pub least: Cost,
}

pub(super) fn solve(model: &Model, effort: Effort) -> Found {
    let (some, never): (Vec<usize>, Vec<usize>) =
        (0..model.items.len()).partition(|&i| model.fit(&[i]).is_some());
    let mut found = Found {
        proven: true,
        least: Cost {
            unloaded: never.len(),
            ..Cost::default()
        },
        never,
        ..Found::default()
    };
    if some.is_empty() {
        return found;
    }
    // Where reels dry between runs, no group takes anything from another.
    let alone =
        |&a: &usize, &b: &usize| !model.reused || model.items[a].group == model.items[b].group;
    let bound = Bound::new(model, &model.items);
    let parts: Vec<&[usize]> = some.chunk_by(alone).collect();
    let mut loadings = effort.loadings;
    for (done, part) in parts.iter().enumerate() {
        let share = loadings / (parts.len() - done) as u64;
        let mut search = Search {
            model,
            bound: &bound,
            loadings: share,
        };
        let (plan, least) = search.solve(part);
        loadings -= share - search.loadings;
        found.proven &= plan.cost == least;
        found.least = found.least.plus(least);
        found.runs.extend(plan.runs);
        found.out.extend(plan.out);
    }
    found
}

/// A set of rolls.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
struct Set([u64; MAX_ROLLS.div_ceil(64)]);

impl Set {
    fn of(rolls: &[usize]) -> Self {
        let mut set = Self::default();
        for &i in rolls {
            set.0[i / 64] |= 1 << (i % 64);
        }
        set
    }

    fn without(mut self, rolls: &[usize]) -> Self {
        for &i in rolls {
            self.0[i / 64] &= !(1 << (i % 64));
        }
        self
    }

    fn list(self) -> Vec<usize> {
        let mut list = Vec::new();
        for (w, mut word) in self.0.into_iter().enumerate() {
            while word != 0 {
                list.push(w * 64 + word.trailing_zeros() as usize);
                word &= word - 1;
            }
        }
        list
    }
}

/// Rolls left, and reels of each type left (none are counted where reels dry between runs).
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct State {
    left: Set,
    reels: Box<[u16]>,
}

#[derive(Debug, Clone, Default)]
struct Partial {
    runs: Vec<Loaded>,
    out: Vec<usize>,
    cost: Cost,
}

impl Partial {
    fn add(&mut self, step: Step) {
        self.cost = self.cost.plus(step.cost());
        match step {
            Step::Run(run) => self.runs.push(run),
            Step::Leave(roll) => self.out.push(roll),
        }
    }
}

/// What may be done next.
#[derive(Debug, Clone)]
enum Step {
    Run(Loaded),
    /// Only where reels are used once: the leader stays out.
    Leave(usize),
}

impl Step {
    fn cost(&self) -> Cost {
        match self {
            Self::Run(run) => Cost {
                unloaded: 0,
                runs: 1,
                ml: run.fit.ml,
            },
            Self::Leave(_) => Cost {
                unloaded: 1,
                ..Cost::default()
            },
        }
    }
}

impl State {
    fn after(&self, step: &Step) -> Self {
        let mut next = self.clone();
        match step {
            Step::Run(run) => {
                next.left = next.left.without(&run.rolls);
                if let Some(reels) = next.reels.get_mut(run.fit.kind) {
                    *reels -= run.fit.reels as u16;
                }
            }
            Step::Leave(roll) => next.left = next.left.without(&[*roll]),
        }
        next
    }
}

struct Node {
    state: State,
    cost: Cost,
    from: Option<(usize, Step)>,
}

struct Search<'m> {
    model: &'m Model,
    bound: &'m Bound,
    /// Loadings that may still be looked at.
    loadings: u64,
}

impl Search<'_> {
    /// The best plan found, and what no plan beats.
    fn solve(&mut self, part: &[usize]) -> (Partial, Cost) {
        let root = State {
            left: Set::of(part),
            reels: if self.model.reused {
                Box::default()
            } else {
                self.model.kinds.iter().map(|k| k.count as u16).collect()
            },
        };
        let mut best = self.greedy(&root);
        let least = self.best_first(&root, &mut best);
        if best.cost != least {
            self.beam(&root, &mut best);
        }
        // A bound may have been met by the plan that came of looking on.
        let least = least.min(best.cost);
        (best, least)
    }

    fn bound(&self, state: &State) -> Cost {
        let usable = self.model.vessels.iter().map(|v| v.kind);
        let reels = (!state.reels.is_empty()).then(|| {
            let mut kinds: Vec<usize> = usable.collect();
            kinds.sort_unstable();
            kinds.dedup();
            kinds.iter().map(|&k| usize::from(state.reels[k])).sum()
        });
        self.bound.of(&self.model.items, &state.left.list(), reels)
    }

    /// Least solution for rolls from the longest to the shortest, on reels of one type where these are counted.
    fn fit(&self, state: &State, kind: Option<usize>, rolls: &[usize]) -> Option<Fit> {
        match kind {
            Some(kind) => self
                .model
                .fit_on(kind, usize::from(state.reels[kind]), rolls),
            None => self.model.fit(rolls),
        }
    }

    fn kinds(&self, state: &State) -> Vec<Option<usize>> {
        if state.reels.is_empty() {
            vec![None]
        } else {
            (0..state.reels.len()).map(Some).collect()
        }
    }

    /// The leader, and by size, the largest first, those that may go beside it, itself among them.
    fn beside(&self, state: &State) -> (usize, Vec<Vec<usize>>) {
        let items = &self.model.items;
        let left = state.left.list();
        let leader = left[0];
        let mut rolls: Vec<usize> = left
            .into_iter()
            .filter(|&i| items[i].group == items[leader].group && items[i].lo <= items[leader].hi)
            .collect();
        rolls.sort_by_key(|&i| (-items[i].size, i));
        let sizes = rolls
            .chunk_by(|&a, &b| items[a].size == items[b].size)
            .map(<[usize]>::to_vec)
            .collect();
        (leader, sizes)
    }

    /// The steps from a state that no other makes needless; `None` when `allowance` loadings were not enough, unless
    /// what was found so far is enough for the caller.
    fn steps(&mut self, state: &State, allowance: u64, all: bool) -> Option<Vec<Step>> {
        let (leader, sizes) = self.beside(state);
        let mut steps = Vec::new();
        let mut loading = Loading {
            state,
            leader: sizes.iter().position(|s| s[0] == leader)?,
            counts: vec![0; sizes.len()],
            sizes,
            allowance: allowance.min(self.loadings),
        };
        let before = loading.allowance;
        let whole = loading.each(self, 0, &mut steps);
        self.loadings -= before - loading.allowance;
        if !state.reels.is_empty() {
            steps.push(Step::Leave(leader));
        }
        (whole || !all).then_some(steps)
    }

    /// Best first. Betters `best`, and gives what no plan beats.
    fn best_first(&mut self, root: &State, best: &mut Partial) -> Cost {
        let mut nodes = vec![Node {
            state: root.clone(),
            cost: Cost::default(),
            from: None,
        }];
        let mut cheapest = HashMap::from([(root.clone(), Cost::default())]);
        // A bound takes time as the square of the rolls, as so many more loadings do.
        let pains = (root.left.list().len().pow(2) / 500) as u64;
        let mut open = BinaryHeap::from([Reverse((self.bound(root), Reverse(0), 0))]);
        while let Some(Reverse((floor, Reverse(depth), at))) = open.pop() {
            if best.cost <= floor {
                return best.cost;
            }
            let (state, cost) = (nodes[at].state.clone(), nodes[at].cost);
            if state.left == Set::default() {
                *best = trace(&nodes, at);
                return best.cost;
            }
            if cheapest[&state] < cost {
                continue;
            }
            let steps = self.steps(&state, u64::MAX, true);
            let Some(steps) = steps.filter(|s| nodes.len() + s.len() <= MAX_NODES) else {
                return floor;
            };
            for step in steps {
                let (next, cost) = (state.after(&step), cost.plus(step.cost()));
                self.loadings = self.loadings.saturating_sub(pains);
                if cheapest.get(&next).is_some_and(|&c| c <= cost) {
                    continue;
                }
                let floor = cost.plus(self.bound(&next));
                if best.cost <= floor {
                    continue;
                }
                cheapest.insert(next.clone(), cost);
                open.push(Reverse((floor, Reverse(depth + 1), nodes.len())));
                nodes.push(Node {
                    state: next,
                    cost,
                    from: Some((at, step)),
                });
            }
        }
        best.cost
    }

    /// A few good plans side by side, step by step, where the proof ran out of loadings.
    fn beam(&mut self, root: &State, best: &mut Partial) {
        let (width, each) = BEAM;
        let width = (width * 60 / root.left.list().len()).clamp(width / 4, width);
        let mut level = vec![(Cost::default(), root.clone(), Partial::default())];
        while !level.is_empty() {
            let mut next: Vec<(Cost, State, Partial)> = Vec::new();
            for (_, state, partial) in level {
                self.loadings = each;
                for step in self.steps(&state, each, false).unwrap_or_default() {
                    let state = state.after(&step);
                    let mut partial = partial.clone();
                    partial.add(step);
                    let floor = partial.cost.plus(self.bound(&state));
                    if best.cost <= floor {
                        continue;
                    }
                    if state.left == Set::default() {
                        *best = partial;
                    } else {
                        next.push((floor, state, partial));
                    }
                }
            }
            next.sort_by_key(|(floor, state, _)| (*floor, state.left.0));
            next.dedup_by(|a, b| a.1 == b.1);
            next.truncate(width);
            level = next;
        }
        self.loadings = 0;
    }

    /// The best of three plain ways: fill each run in order of time, with the longest first, with the shortest first.
    fn greedy(&self, root: &State) -> Partial {
        type Order = fn(&Model, usize) -> (i64, usize);
        let orders: [Order; 3] = [
            |_, i| (0, i),
            |m, i| (-m.items[i].len, i),
            |m, i| (m.items[i].len, i),
        ];
        let plans = orders.into_iter().map(|order| {
            let (mut state, mut plan) = (root.clone(), Partial::default());
            while state.left != Set::default() {
                let step = self.filled(&state, order);
                state = state.after(&step);
                plan.add(step);
            }
            plan
        });
        plans.min_by_key(|p| p.cost).unwrap_or_default()
    }

    /// A run of the leader and of all that fit, asked in an order.
    fn filled(&self, state: &State, order: impl Fn(&Model, usize) -> (i64, usize)) -> Step {
        let (leader, sizes) = self.beside(state);
        let mut others: Vec<usize> = sizes
            .into_iter()
            .flatten()
            .filter(|&i| i != leader)
            .collect();
        others.sort_by_key(|&i| order(self.model, i));
        let load = |rolls: &mut Vec<usize>| {
            self.model.by_length(rolls);
            let fits = self.kinds(state).into_iter();
            fits.filter_map(|kind| self.fit(state, kind, rolls))
                .min_by_key(|f| (f.reels, f.ml, f.vessel))
        };
        let mut run = vec![leader];
        let Some(mut fit) = load(&mut run) else {
            return Step::Leave(leader);
        };
        for other in others {
            let mut more = run.clone();
            more.push(other);
            if let Some(better) = load(&mut more) {
                (run, fit) = (more, better);
            }
        }
        Step::Run(Loaded { rolls: run, fit })
    }
}

/// How many rolls of each size join the leader.
struct Loading<'s> {
    state: &'s State,
    /// By size, the largest first: the rolls that may join, in the order in which they do.
    sizes: Vec<Vec<usize>>,
    /// The size of the leader.
    leader: usize,
    counts: Vec<usize>,
    allowance: u64,
}

impl Loading<'_> {
    fn rolls(&self) -> Vec<usize> {
        let joined = self.sizes.iter().zip(&self.counts);
        joined
            .flat_map(|(size, &count)| &size[..count])
            .copied()
            .collect()
    }

    fn fits(&self, search: &Search, kind: Option<usize>) -> Option<Fit> {
        search.fit(self.state, kind, &self.rolls())
    }

    /// Every count of the sizes from `at`, the most first; false when there was not allowance enough.
    fn each(&mut self, search: &Search, at: usize, steps: &mut Vec<Step>) -> bool {
        if self.allowance == 0 {
            return false;
        }
        self.allowance -= 1;
        if at == self.sizes.len() {
            self.offer(search, steps);
            return true;
        }
        let fewest = usize::from(at == self.leader);
        let kinds = search.kinds(self.state);
        while self.counts[at] < self.sizes[at].len() {
            self.counts[at] += 1;
            if !kinds.iter().any(|&kind| self.fits(search, kind).is_some()) {
                self.counts[at] -= 1;
                break;
            }
        }
        let mut whole = true;
        let most = self.counts[at];
        for count in (fewest..=most).rev() {
            self.counts[at] = count;
            whole = whole && self.each(search, at + 1, steps);
        }
        self.counts[at] = 0;
        whole
    }

    fn offer(&mut self, search: &Search, steps: &mut Vec<Step>) {
        for kind in search.kinds(self.state) {
            let Some(fit) = self.fits(search, kind) else {
                continue;
            };
            if !self.needless(search, kind, fit) {
                let rolls = self.rolls();
                steps.push(Step::Run(Loaded { rolls, fit }));
            }
        }
    }

    /// Whether a further roll could join, or a longer and more urgent one take a shorter one's place, at no cost.
    fn needless(&mut self, search: &Search, kind: Option<usize>, fit: Fit) -> bool {
        let items = &search.model.items;
        let free = |loading: &Self| {
            loading.fits(search, kind).is_some_and(|other| {
                other.ml <= fit.ml && (kind.is_none() || other.reels <= fit.reels)
            })
        };
        for longer in 0..self.sizes.len() {
            let Some(&joining) = self.sizes[longer].get(self.counts[longer]) else {
                continue;
            };
            self.counts[longer] += 1;
            let mut needless = free(self);
            for shorter in longer + 1..self.sizes.len() {
                let kept = usize::from(shorter == self.leader);
                if needless || self.counts[shorter] <= kept {
                    continue;
                }
                let last = self.sizes[shorter][self.counts[shorter] - 1];
                if items[joining].hi <= items[last].hi {
                    self.counts[shorter] -= 1;
                    needless = free(self);
                    self.counts[shorter] += 1;
                }
            }
            self.counts[longer] -= 1;
            if needless {
                return true;
            }
        }
        false
    }
}

fn trace(nodes: &[Node], mut at: usize) -> Partial {
    let mut steps = Vec::new();
    while let Some((from, step)) = &nodes[at].from {
        steps.push(step.clone());
        at = *from;
    }
    let mut plan = Partial::default();
    for step in steps.into_iter().rev() {
        plan.add(step);
    }
    plan
}
