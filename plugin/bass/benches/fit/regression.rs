//! Multinomial logistic regression: weights that make the exponentials of the scores proportional
//! to the chances of the notes. "No note" has the score 0.

use guidehand_bass::fitting::{COUNT, LEVELS, height};

/// The truth of an example without a note.
pub const NONE: usize = COUNT;

/// Weights of levels, of levels times height, and of the powers of height.
pub const TERMS: usize = 2 * LEVELS + 3;
const STEPS: u16 = 300;
/// The size of the first steps.
const RATE: f32 = 0.04;
/// The price of large weights.
const RIDGE: f32 = 3e-4;

/// The levels for all notes, with the true note as an index from the lowest note.
#[derive(Default)]
pub struct Examples {
    levels: Vec<Vec<f32>>,
    truths: Vec<usize>,
}

impl Examples {
    /// Adds an example.
    pub fn push(&mut self, levels: Vec<f32>, truth: usize) {
        self.levels.push(levels);
        self.truths.push(truth);
    }

    /// The number of examples.
    pub fn len(&self) -> usize {
        self.truths.len()
    }
}

/// The weights, in the model's order.
pub fn fit(examples: &Examples) -> Vec<f32> {
    let (means, scales) = spread(examples);
    let mut weights = vec![0.0_f32; TERMS];
    let (mut slow, mut square) = (vec![0.0_f32; TERMS], vec![0.0_f32; TERMS]);
    for step in 0..STEPS {
        let (loss, right, gradient) = slope(examples, &unscaled(&weights, &means, &scales));
        let gradient = rescaled(&gradient, &means, &scales);
        if step % 50 == 0 {
            eprintln!("step {step}: loss {loss:.4}, {:.2} % right", 100.0 * right);
        }
        // Adam's steps, which get smaller towards the end.
        let left = 1.0 - f32::from(step) / f32::from(STEPS);
        let (keep, keep_square) = (0.9_f32, 0.99_f32);
        let age = i32::from(step) + 1;
        for (n, w) in weights.iter_mut().enumerate() {
            let g = gradient[n] + 2.0 * RIDGE * *w;
            slow[n] = keep * slow[n] + (1.0 - keep) * g;
            square[n] = keep_square * square[n] + (1.0 - keep_square) * g * g;
            let mean = slow[n] / (1.0 - keep.powi(age));
            let deviation = (square[n] / (1.0 - keep_square.powi(age))).sqrt();
            *w -= RATE * left * mean / (deviation + 1e-8);
        }
    }
    unscaled(&weights, &means, &scales)
}

/// The mean and the inverse deviation of each level.
fn spread(examples: &Examples) -> (Vec<f32>, Vec<f32>) {
    let (mut sums, mut squares) = (vec![0.0_f64; LEVELS], vec![0.0_f64; LEVELS]);
    let mut count = 0.0;
    for note in examples.levels.iter().flat_map(|l| l.chunks_exact(LEVELS)) {
        count += 1.0;
        for (n, level) in note.iter().enumerate() {
            sums[n] += f64::from(*level);
            squares[n] += f64::from(*level).powi(2);
        }
    }
    let mean = |n: usize| sums[n] / count;
    let deviation = |n: usize| (squares[n] / count - mean(n).powi(2)).max(1e-6).sqrt();
    (0..LEVELS)
        .map(|n| (narrow(mean(n)), narrow(1.0 / deviation(n))))
        .unzip()
}

/// Weights for the levels as they are, from weights for levels with mean 0 and deviation 1.
fn unscaled(weights: &[f32], means: &[f32], scales: &[f32]) -> Vec<f32> {
    let mut plain = weights.to_vec();
    for n in 0..LEVELS {
        for (part, bias) in [(n, 0), (LEVELS + n, 1)] {
            plain[part] *= scales[n];
            plain[2 * LEVELS + bias] -= plain[part] * means[n];
        }
    }
    plain
}

/// A gradient for the weights of levels with mean 0 and deviation 1.
fn rescaled(gradient: &[f32], means: &[f32], scales: &[f32]) -> Vec<f32> {
    let mut other = gradient.to_vec();
    for n in 0..LEVELS {
        for (part, bias) in [(n, 0), (LEVELS + n, 1)] {
            other[part] = (gradient[part] - gradient[2 * LEVELS + bias] * means[n]) * scales[n];
        }
    }
    other
}

/// The mean loss, the share of right answers, and the gradient, computed by two threads.
fn slope(examples: &Examples, weights: &[f32]) -> (f32, f32, Vec<f32>) {
    let half = examples.len() / 2;
    let parts = std::thread::scope(|scope| {
        let first = scope.spawn(|| slope_of(examples, 0..half, weights));
        let second = slope_of(examples, half..examples.len(), weights);
        [first.join().expect("a sum"), second]
    });
    let count = of_usize(examples.len());
    let mut gradient = vec![0.0; TERMS];
    let (mut loss, mut right) = (0.0, 0.0);
    for (part_loss, part_right, part) in parts {
        loss += part_loss / count;
        right += part_right / count;
        gradient
            .iter_mut()
            .zip(part)
            .for_each(|(g, p)| *g += p / count);
    }
    (loss, right, gradient)
}

fn slope_of(
    examples: &Examples,
    range: std::ops::Range<usize>,
    weights: &[f32],
) -> (f32, f32, Vec<f32>) {
    let heights: Vec<f32> = (0..COUNT).map(height).collect();
    let weight = |note: usize, n: usize| weights[n] + heights[note] * weights[LEVELS + n];
    let folded: Vec<Vec<f32>> = (0..COUNT)
        .map(|note| (0..LEVELS).map(|n| weight(note, n)).collect())
        .collect();
    let bias = |h: f32| {
        let [one, first, second] = [0, 1, 2].map(|n| weights[2 * LEVELS + n]);
        one + h * (first + h * second)
    };
    let mut by_note = vec![vec![0.0_f32; LEVELS + 1]; COUNT];
    let (mut loss, mut right) = (0.0, 0.0);
    for (levels, truth) in examples.levels[range.clone()]
        .iter()
        .zip(&examples.truths[range])
    {
        let mut scores = [0.0_f32; COUNT + 1];
        for (note, levels) in levels.chunks_exact(LEVELS).enumerate() {
            let sum: f32 = levels.iter().zip(&folded[note]).map(|(l, w)| l * w).sum();
            scores[note] = sum + bias(heights[note]);
        }
        let best = scores.iter().copied().fold(f32::MIN, f32::max);
        right += f32::from(u8::from(scores[*truth] >= best));
        let all: f32 = scores.iter().map(|s| (s - best).exp()).sum();
        loss -= scores[*truth] - best - all.ln();
        for (note, levels) in levels.chunks_exact(LEVELS).enumerate() {
            let truly = f32::from(u8::from(note == *truth));
            let error = (scores[note] - best).exp() / all - truly;
            if error.abs() < 1e-6 {
                continue;
            }
            let sums = &mut by_note[note];
            sums.iter_mut()
                .zip(levels)
                .for_each(|(s, l)| *s += error * l);
            sums[LEVELS] += error;
        }
    }
    let mut gradient = vec![0.0; TERMS];
    for (sums, h) in by_note.iter().zip(&heights) {
        for n in 0..LEVELS {
            gradient[n] += sums[n];
            gradient[LEVELS + n] += h * sums[n];
        }
        for (n, power) in [1.0, *h, h * h].into_iter().enumerate() {
            gradient[2 * LEVELS + n] += sums[LEVELS] * power;
        }
    }
    (loss, right, gradient)
}

#[expect(clippy::cast_precision_loss, reason = "thousands of examples")]
fn of_usize(n: usize) -> f32 {
    n as f32
}

#[expect(clippy::cast_possible_truncation, reason = "levels")]
fn narrow(x: f64) -> f32 {
    x as f32
}
