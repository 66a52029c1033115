//! Boosted trees: a learner that asks little of its inputs.
//!
//! Second-order boosting of the logistic loss (Friedman, Hastie and Tibshirani, 2000) with trees in which
//! every level asks one question (Kohavi, 1994), at quantiles. Rows that are plain are drawn, not all taken
//! (Ke and others, 2017).

use std::fmt::Write as _;

/// Questions a tree asks: as many as the reader of the text expects.
const DEPTH: usize = 4;
const LEAVES: usize = 1 << DEPTH;
const TREES: usize = 320;
/// How much of a tree is taken.
const RATE: f64 = 0.1;
/// Weight of the ridge on a leaf.
const RIDGE: f64 = 2.0;
/// Quantiles of all rows and of those that are so, at which is asked.
const QUANTILES: usize = 24;
/// Slope above which a row is always taken; of the others, one in so many.
const STEEP: f64 = 0.02;
const DRAWN: u64 = 5;
/// Newton's steps to a slope and an offset: it has settled long before.
const PLATT_ROUNDS: usize = 20;
/// Leaves are kept in thousandths of ln of odds.
const THOUSAND: f64 = 1_000.0;

/// A fitted learner.
pub struct Trees {
    bias: f64,
    trees: Vec<Tree>,
}

struct Tree {
    /// Input, and the value above which the answer is yes.
    asked: [(usize, f64); DEPTH],
    leaves: [f64; LEAVES],
}

/// Sums of slopes and curvatures.
type Sums = (f64, f64);

/// An input of all rows: the values that can be asked for, and how many of them each row is above.
struct Column {
    edges: Vec<f64>,
    bins: Vec<u8>,
}

impl Trees {
    /// Learns from rows of inputs, whether each is so, and how much it counts.
    pub fn fit<R: AsRef<[f64]>>(rows: &[R], so: &[bool], weights: &[f64]) -> Self {
        let width = rows.first().map_or(0, |row| row.as_ref().len());
        let columns: Vec<Column> = (0..width).map(|input| Column::of(rows, so, input)).collect();
        let counted: f64 = weights.iter().sum();
        let are_so: f64 = weights.iter().zip(so).filter(|one| *one.1).map(|one| one.0).sum();
        let share = are_so.max(1.0) / counted.max(2.0);
        let bias = significant((share / (1.0 - share).max(1e-9)).ln());
        let mut scores = vec![bias; rows.len()];
        let mut trees = Vec::new();
        for tree in 0..TREES {
            let mut taken = Vec::new();
            for (row, ((score, so), weight)) in scores.iter().zip(so).zip(weights).enumerate() {
                if *weight == 0.0 {
                    continue;
                }
                let p = 1.0 / (1.0 + (-score).exp());
                let (slope, curvature) = (f64::from(u8::from(*so)) - p, p * (1.0 - p));
                if slope.abs() > STEEP {
                    taken.push((row, (slope * weight, curvature * weight)));
                } else if drawn(row as u64, tree as u64) {
                    let times = weight * DRAWN as f64;
                    taken.push((row, (slope * times, curvature * times)));
                }
            }
            let Some((tree, asked)) = Tree::grow(&columns, &taken) else { break };
            for (row, score) in scores.iter_mut().enumerate() {
                let leaf = asked.iter().fold(0, |leaf, (input, edge)| {
                    2 * leaf + usize::from(usize::from(columns[*input].bins[row]) > *edge)
                });
                *score += tree.leaves[leaf];
            }
            trees.push(tree);
        }
        Self { bias, trees }
    }

    /// Weighted rows rank well; what is stated must hold for all of them alike: one slope and one offset
    /// of the ln of the odds (Platt, 1999).
    pub fn calibrate<R: AsRef<[f64]>>(&mut self, rows: &[R], so: &[bool]) {
        let scores: Vec<f64> = rows.iter().map(|row| self.ln_odds(row.as_ref())).collect();
        let (mut slope, mut offset) = (1.0, 0.0);
        for _ in 0..PLATT_ROUNDS {
            let (mut to_slope, mut to_offset) = (0.0, 0.0);
            let (mut squares, mut products, mut ones) = (RIDGE, 0.0, RIDGE);
            for (score, so) in scores.iter().zip(so) {
                let p = 1.0 / (1.0 + (-(slope * score + offset)).exp());
                let (off, bend) = (f64::from(u8::from(*so)) - p, p * (1.0 - p));
                (to_slope, to_offset) = (to_slope + off * score, to_offset + off);
                squares += bend * score * score;
                products += bend * score;
                ones += bend;
            }
            let size = squares * ones - products * products;
            slope += (ones * to_slope - products * to_offset) / size;
            offset += (squares * to_offset - products * to_slope) / size;
        }
        self.bias = significant(self.bias * slope + offset);
        for leaf in self.trees.iter_mut().flat_map(|tree| &mut tree.leaves) {
            *leaf = (*leaf * slope * THOUSAND).round() / THOUSAND;
        }
    }

    /// ln of the odds.
    pub fn ln_odds(&self, row: &[f64]) -> f64 {
        let leaves = self.trees.iter().map(|tree| {
            let yes = |(input, above): &(usize, f64)| row[*input] > *above;
            let leaf = tree.asked.iter().fold(0, |leaf, asked| 2 * leaf + usize::from(yes(asked)));
            tree.leaves[leaf]
        });
        self.bias + leaves.sum::<f64>()
    }

    /// As the program reads it.
    pub fn text(&self, name: &str) -> String {
        let mut text = format!("\n{name} {}\n", self.bias);
        for tree in &self.trees {
            let asked = tree.asked.iter().map(|(input, above)| format!("{input}>{above}"));
            let leaves = tree.leaves.iter().map(|leaf| format!("{}", (leaf * THOUSAND).round()));
            let _ = writeln!(
                text,
                "{}|{}",
                asked.collect::<Vec<_>>().join(" "),
                leaves.collect::<Vec<_>>().join(" ")
            );
        }
        text
    }
}

impl Tree {
    /// The tree, and its questions as columns and edges.
    fn grow(
        columns: &[Column],
        taken: &[(usize, Sums)],
    ) -> Option<(Self, [(usize, usize); DEPTH])> {
        let mut asked = [(0, 0); DEPTH];
        let mut nodes = vec![0_usize; taken.len()];
        for (depth, asked) in asked.iter_mut().enumerate() {
            let questions = columns.iter().enumerate().filter_map(|(input, column)| {
                let (gain, edge) = column.best(taken, &nodes, 1 << depth)?;
                Some((gain, (input, edge)))
            });
            let (_, question) = questions.max_by(|a, b| a.0.total_cmp(&b.0))?;
            *asked = question;
            let (input, edge) = question;
            for (node, (row, _)) in nodes.iter_mut().zip(taken) {
                *node = 2 * *node + usize::from(usize::from(columns[input].bins[*row]) > edge);
            }
        }
        let mut sums = [(0.0, 0.0); LEAVES];
        for (node, (_, (slope, curvature))) in nodes.iter().zip(taken) {
            sums[*node] = (sums[*node].0 + slope, sums[*node].1 + curvature);
        }
        let leaves = sums.map(|(slope, curvature)| {
            (RATE * slope / (curvature + RIDGE) * THOUSAND).round() / THOUSAND
        });
        let values = asked.map(|(input, edge)| (input, columns[input].edges[edge]));
        Some((Self { asked: values, leaves }, asked))
    }
}

impl Column {
    fn of<R: AsRef<[f64]>>(rows: &[R], so: &[bool], input: usize) -> Self {
        let all = || rows.iter().map(|row| row.as_ref()[input]);
        let mut edges = quantiles(all());
        edges.extend(quantiles(all().zip(so).filter(|(_, so)| **so).map(|(value, _)| value)));
        edges.sort_unstable_by(f64::total_cmp);
        edges.dedup();
        let bins = all().map(|value| edges.partition_point(|edge| *edge < value) as u8).collect();
        Self { edges, bins }
    }

    /// How much the best edge gains, and which it is.
    fn best(&self, taken: &[(usize, Sums)], nodes: &[usize], count: usize) -> Option<(f64, usize)> {
        let width = self.edges.len() + 1;
        let mut sums = vec![(0.0, 0.0); count * width];
        for ((row, (slope, curvature)), node) in taken.iter().zip(nodes) {
            let sum = &mut sums[node * width + usize::from(self.bins[*row])];
            *sum = (sum.0 + slope, sum.1 + curvature);
        }
        let worth = |(slope, curvature): Sums| slope * slope / (curvature + RIDGE);
        let mut gains = vec![0.0; self.edges.len()];
        for own in sums.chunks(width) {
            let all = own.iter().fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
            let mut below = (0.0, 0.0);
            for (gain, one) in gains.iter_mut().zip(own) {
                below = (below.0 + one.0, below.1 + one.1);
                let above = (all.0 - below.0, all.1 - below.1);
                *gain += worth(below) + worth(above) - worth(all);
            }
        }
        let best = gains.into_iter().enumerate().max_by(|a, b| a.1.total_cmp(&b.1))?;
        Some((best.1, best.0))
    }
}

fn quantiles(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_unstable_by(f64::total_cmp);
    let last = values.len().saturating_sub(1);
    let at = |part: usize| values.get(part * last / QUANTILES).copied().map(significant);
    (0..QUANTILES).filter_map(at).collect()
}

/// Four figures of it: as they are written, so are they asked for.
fn significant(value: f64) -> f64 {
    format!("{value:.3e}").parse().unwrap_or(value)
}

/// A draw that is the same every time (the mixer of SplitMix64; Steele, Lea and Flood, 2014).
fn drawn(row: u64, tree: u64) -> bool {
    let seed = ((row << 16) + tree + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    let mixed = (seed ^ (seed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    (mixed ^ (mixed >> 31)).is_multiple_of(DRAWN)
}
