//! A small revised simplex with columns added as they are found, for the dual prices of [`super::bound`].
//!
//! Nothing that is claimed rests on its accuracy: a bound is recomputed from the dual prices by exact sums.

/// One column: its cost and its entries by row.
#[derive(Debug, Clone)]
pub(super) struct Column {
    pub(super) cost: f64,
    pub(super) entries: Vec<(usize, f64)>,
    /// The want and stock of a column that serves a want.
    pub(super) tag: Option<(usize, usize)>,
}

/// Minimise cost over columns ≥ 0 subject to rows = right-hand sides; slacks are columns like any other.
#[derive(Debug, Clone)]
pub(super) struct Simplex {
    rows: usize,
    columns: Vec<Column>,
    flat: Flat,
    /// Columns that are not to enter: those of the basis, and those that are barred.
    shut: Vec<bool>,
    barred: Vec<bool>,
    basis: Vec<usize>,
    /// Inverse of the basis, column-major.
    inverse: Vec<f64>,
    value: Vec<f64>,
    /// Where the search for an entering column goes on.
    next: usize,
    /// Dual price of each row.
    pub(super) dual: Vec<f64>,
}

/// The columns once more, one after the other in memory, for pricing.
#[derive(Debug, Default, Clone)]
struct Flat {
    cost: Vec<f64>,
    end: Vec<usize>,
    entries: Vec<(u32, f64)>,
}

impl Flat {
    fn add(&mut self, column: &Column) {
        self.cost.push(column.cost);
        let entries = column.entries.iter().map(|&(r, v)| (r as u32, v));
        self.entries.extend(entries);
        self.end.push(self.entries.len());
    }

    fn reduced_cost(&self, c: usize, dual: &[f64]) -> f64 {
        let start = if c == 0 { 0 } else { self.end[c - 1] };
        let entries = &self.entries[start..self.end[c]];
        self.cost[c]
            - entries
                .iter()
                .map(|&(r, v)| dual[r as usize] * v)
                .sum::<f64>()
    }
}

const PIVOT: f64 = 1e-9;
/// Columns looked at together for one to enter.
const BATCH: usize = 100;

impl Simplex {
    /// Start from the basis `first` (one column per row), which must be unit lower triangular in the
    /// sense that column r has 1 in row r and other entries only in rows whose column is a unit column.
    pub(super) fn new(first: Vec<Column>, rhs: &[f64]) -> Self {
        let rows = first.len();
        let mut inverse = vec![0.0; rows * rows];
        for (r, column) in first.iter().enumerate() {
            for &(row, v) in &column.entries {
                inverse[r * rows + row] = if row == r { 1.0 } else { -v };
            }
        }
        let value = (0..rows)
            .map(|r| (0..rows).map(|k| inverse[k * rows + r] * rhs[k]).sum())
            .collect();
        let mut flat = Flat::default();
        first.iter().for_each(|column| flat.add(column));
        let mut it = Self {
            rows,
            flat,
            shut: vec![true; rows],
            barred: vec![false; rows],
            columns: first,
            basis: (0..rows).collect(),
            inverse,
            value,
            next: 0,
            dual: vec![0.0; rows],
        };
        it.price_basis();
        it
    }

    /// Add a column.
    pub(super) fn add(&mut self, column: Column) {
        self.flat.add(&column);
        self.columns.push(column);
        self.shut.push(false);
        self.barred.push(false);
    }

    /// Bar all columns for which `barred` says so from entering, other than those of the first basis; those in
    /// the basis now are made so dear, by `penalty`, that they leave it.
    pub(super) fn bar(&mut self, penalty: f64, barred: impl Fn(&Column) -> bool) {
        for c in self.rows..self.columns.len() {
            if barred(&self.columns[c]) {
                if self.shut[c] && !self.barred[c] {
                    self.columns[c].cost += penalty;
                    self.flat.cost[c] += penalty;
                }
                self.shut[c] = true;
                self.barred[c] = true;
            }
        }
        self.price_basis();
    }

    /// Whether the reduced cost of a column is below −`tolerance`.
    pub(super) fn improves(&self, column: &Column, tolerance: f64) -> bool {
        let dual: f64 = column.entries.iter().map(|&(r, v)| self.dual[r] * v).sum();
        column.cost - dual < -tolerance
    }

    /// The columns of the basis with their values.
    pub(super) fn basics(&self) -> impl Iterator<Item = (&Column, f64)> {
        self.basis
            .iter()
            .zip(&self.value)
            .map(|(&c, &v)| (&self.columns[c], v))
    }

    /// Work of one pivot, in the units of the search's steps.
    pub(super) fn work_of_pivot(&self) -> u64 {
        (self.rows * self.rows + 8 * self.columns.len()) as u64 / 192 + 1
    }

    /// Number of columns known.
    pub(super) fn columns(&self) -> usize {
        self.columns.len()
    }

    fn price_basis(&mut self) {
        let cost: Vec<f64> = self.basis.iter().map(|&c| self.flat.cost[c]).collect();
        for (dual, column) in self.dual.iter_mut().zip(self.inverse.chunks(self.rows)) {
            *dual = cost.iter().zip(column).map(|(c, v)| c * v).sum();
        }
    }

    /// Pivot until no known column improves by more than `tolerance`, or `limit` pivots are spent; returns
    /// the pivots made.
    pub(super) fn optimise(&mut self, tolerance: f64, limit: u64) -> u64 {
        let mut made = 0;
        for step in 0..limit {
            if step % 128 == 127 {
                self.price_basis();
            }
            // The best of a batch that has any: looking at all columns each time costs more than it gains.
            let mut best = (-tolerance, usize::MAX);
            let count = self.columns.len();
            for looked in 0..count {
                if best.1 != usize::MAX && looked % BATCH == 0 {
                    break;
                }
                self.next = if self.next + 1 < count {
                    self.next + 1
                } else {
                    0
                };
                if !self.shut[self.next] {
                    let reduced = self.flat.reduced_cost(self.next, &self.dual);
                    if reduced < best.0 {
                        best = (reduced, self.next);
                    }
                }
            }
            if best.1 == usize::MAX || !self.pivot(best.1, best.0) {
                break;
            }
            made += 1;
        }
        self.price_basis();
        made
    }

    fn pivot(&mut self, entering: usize, reduced: f64) -> bool {
        let n = self.rows;
        let mut direction = vec![0.0; n];
        for &(k, v) in &self.columns[entering].entries {
            let column = &self.inverse[k * n..(k + 1) * n];
            for (d, i) in direction.iter_mut().zip(column) {
                *d += i * v;
            }
        }
        let mut leave = (f64::INFINITY, usize::MAX);
        for r in 0..n {
            if PIVOT < direction[r] {
                let ratio = self.value[r].max(0.0) / direction[r];
                let better = ratio < leave.0 - 1e-13
                    || (ratio < leave.0 + 1e-13
                        && leave.1 != usize::MAX
                        && direction[leave.1] < direction[r]);
                if better {
                    leave = (ratio.min(leave.0), r);
                }
            }
        }
        let (step, r) = leave;
        if r == usize::MAX {
            return false;
        }
        for (value, d) in self.value.iter_mut().zip(&direction) {
            *value -= step * d;
        }
        self.value[r] = step;
        let scale = 1.0 / direction[r];
        // Most of the pivot row is zero.
        direction[r] = 0.0;
        for (column, dual) in self.inverse.chunks_exact_mut(n).zip(&mut self.dual) {
            if column[r] == 0.0 {
                continue;
            }
            let pivot = column[r] * scale;
            column[r] = pivot;
            *dual += reduced * pivot;
            for (v, d) in column.iter_mut().zip(&direction) {
                *v -= d * pivot;
            }
        }
        let leaving = self.basis[r];
        self.shut[leaving] = self.barred[leaving];
        self.shut[entering] = true;
        self.basis[r] = entering;
        true
    }

    /// Objective value of the present basis.
    pub(super) fn objective(&self) -> f64 {
        self.basis
            .iter()
            .zip(&self.value)
            .map(|(&c, v)| self.columns[c].cost * v)
            .sum()
    }
}
