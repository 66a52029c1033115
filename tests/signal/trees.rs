//! Boosted trees: a learner that asks nothing of its inputs, to see what is in them at all.
//!
//! Second-order boosting of the logistic loss (Friedman, Hastie and Tibshirani, 2000) with trees of a
//! fixed depth, split at quantiles.

/// Questions from the root of a tree to its leaf.
const DEPTH: usize = 4;
/// Answers that an input is sorted into.
const BINS: usize = 32;
const TREES: usize = 150;
/// How much of a tree is taken.
const RATE: f64 = 0.1;
/// Weight of the ridge on a leaf, and the least curvature in one.
const RIDGE: f64 = 1.0;
const LEAST_CURVATURE: f64 = 3.0;

/// A fitted learner.
pub struct Trees {
    edges: Vec<Vec<f64>>,
    bias: f64,
    trees: Vec<Tree>,
}

#[derive(Clone)]
struct Tree {
    /// Input and bin above which a row goes right; a row goes left where nothing is asked.
    asked: [Option<(usize, u8)>; (1 << DEPTH) - 1],
    leaves: [f64; 1 << DEPTH],
}

/// Sums of slopes and curvatures.
type Sums = (f64, f64);

impl Trees {
    /// Learns from rows of inputs and whether each is so.
    pub fn fit(rows: &[Vec<f64>], so: &[bool]) -> Self {
        let width = rows[0].len();
        let edges: Vec<Vec<f64>> = (0..width).map(|input| edges(rows, input)).collect();
        let binned: Vec<Vec<u8>> = rows.iter().map(|row| bins(&edges, row)).collect();
        let share = so.iter().filter(|so| **so).count().max(1) as f64 / so.len() as f64;
        let bias = (share / (1.0 - share).max(1e-9)).ln();
        let mut scores = vec![bias; rows.len()];
        let mut trees = Vec::new();
        for _ in 0..TREES {
            let pulls: Vec<Sums> = scores
                .iter()
                .zip(so)
                .map(|(score, so)| {
                    let p = 1.0 / (1.0 + (-score).exp());
                    (f64::from(u8::from(*so)) - p, p * (1.0 - p))
                })
                .collect();
            let tree = Tree::grow(&binned, &pulls, width);
            for (score, row) in scores.iter_mut().zip(&binned) {
                *score += RATE * tree.leaves[tree.leaf(row)];
            }
            trees.push(tree);
        }
        Self { edges, bias, trees }
    }

    /// ln of the odds.
    pub fn ln_odds(&self, row: &[f64]) -> f64 {
        let row = bins(&self.edges, row);
        let sum: f64 = self.trees.iter().map(|tree| tree.leaves[tree.leaf(&row)]).sum();
        self.bias + RATE * sum
    }
}

impl Tree {
    fn grow(rows: &[Vec<u8>], pulls: &[Sums], width: usize) -> Self {
        let mut tree = Self { asked: [None; (1 << DEPTH) - 1], leaves: [0.0; 1 << DEPTH] };
        let mut at = vec![0_usize; rows.len()];
        for depth in 0..DEPTH {
            let nodes = 1 << depth;
            let mut sums = vec![(0.0, 0.0); nodes * width * BINS];
            for ((row, pull), node) in rows.iter().zip(pulls).zip(&at) {
                for (input, bin) in row.iter().enumerate() {
                    let sum: &mut Sums = &mut sums[(node * width + input) * BINS + *bin as usize];
                    *sum = (sum.0 + pull.0, sum.1 + pull.1);
                }
            }
            for node in 0..nodes {
                let own = &sums[node * width * BINS..(node + 1) * width * BINS];
                tree.asked[nodes - 1 + node] = best_question(own, width);
            }
            for (row, node) in rows.iter().zip(&mut at) {
                *node = 2 * *node + usize::from(tree.goes_right(nodes - 1 + *node, row));
            }
        }
        let mut sums = [(0.0, 0.0); 1 << DEPTH];
        for (pull, leaf) in pulls.iter().zip(&at) {
            sums[*leaf] = (sums[*leaf].0 + pull.0, sums[*leaf].1 + pull.1);
        }
        tree.leaves = sums.map(|(slope, curvature)| slope / (curvature + RIDGE));
        tree
    }

    fn goes_right(&self, node: usize, row: &[u8]) -> bool {
        self.asked[node].is_some_and(|(input, bin)| row[input] > bin)
    }

    fn leaf(&self, row: &[u8]) -> usize {
        (0..DEPTH).fold(0, |node, depth| {
            2 * node + usize::from(self.goes_right((1 << depth) - 1 + node, row))
        })
    }
}

/// The split of a node that gains most.
fn best_question(sums: &[Sums], width: usize) -> Option<(usize, u8)> {
    let worth = |(slope, curvature): Sums| slope * slope / (curvature + RIDGE);
    let mut best = (1e-6, None);
    for input in 0..width {
        let own = &sums[input * BINS..(input + 1) * BINS];
        let all = own.iter().fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
        let mut left = (0.0, 0.0);
        for (bin, one) in own.iter().enumerate().take(BINS - 1) {
            left = (left.0 + one.0, left.1 + one.1);
            let right = (all.0 - left.0, all.1 - left.1);
            if left.1 < LEAST_CURVATURE || right.1 < LEAST_CURVATURE {
                continue;
            }
            let gain = worth(left) + worth(right) - worth(all);
            if gain > best.0 {
                best = (gain, Some((input, bin as u8)));
            }
        }
    }
    best.1
}

fn edges(rows: &[Vec<f64>], input: usize) -> Vec<f64> {
    let mut values: Vec<f64> = rows.iter().map(|row| row[input]).collect();
    values.sort_unstable_by(f64::total_cmp);
    (1..BINS).map(|bin| values[bin * (values.len() - 1) / BINS]).collect()
}

fn bins(edges: &[Vec<f64>], row: &[f64]) -> Vec<u8> {
    let bin = |(edges, value): (&Vec<f64>, &f64)| edges.partition_point(|edge| edge < value) as u8;
    edges.iter().zip(row).map(bin).collect()
}
