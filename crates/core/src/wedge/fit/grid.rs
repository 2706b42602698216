//! Where a curve is integrated: nodes at the readings, filled in, with two Gauss points between any two.

/// Longest step between nodes in log H; two Gauss points then integrate any slope of film to better than 1e-5.
const LONGEST: f64 = 0.16;
/// How far below the lowest reading the integral starts, in log H.
const LEAD: f64 = 0.45;

/// Nodes and Gauss points of one strip.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    /// Ascending; begins before the readings and ends at the last.
    pub(super) nodes: Vec<f64>,
    /// Two per interval of nodes, ascending.
    pub(super) gauss: Vec<f64>,
    /// For each reading, the node it stands at.
    pub(super) at: Vec<usize>,
}

impl Grid {
    /// For ascending readings `x`, of which some may be equal.
    pub(super) fn new(x: &[f64]) -> Self {
        let mut nodes = vec![x[0] - LEAD];
        let mut at = Vec::with_capacity(x.len());
        for &to in x {
            let from = nodes[nodes.len() - 1];
            if to - from > 1e-9 {
                let steps = ((to - from) / LONGEST).ceil().max(1.0);
                for k in 1..=steps as usize {
                    nodes.push(from + (to - from) * k as f64 / steps);
                }
            }
            at.push(nodes.len() - 1);
        }
        let offset = 0.5 / 3f64.sqrt();
        let gauss = nodes
            .windows(2)
            .flat_map(|w| {
                let (middle, width) = (f64::midpoint(w[0], w[1]), w[1] - w[0]);
                [middle - offset * width, middle + offset * width]
            })
            .collect();
        Self { nodes, gauss, at }
    }
}
