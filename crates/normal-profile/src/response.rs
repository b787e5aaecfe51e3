//! How a quantity answers a change of another: after a delay, by how much, and how gradually.
//!
//! The transfer function of Box and Jenkins (1976, chapters 10 and 11) with one delay and one decay:
//! `answer(t) = decay · answer(t − 1) + weight · input(t − delay)`, found by searching delay and decay
//! for the least squares. Two things are done against what misleads the obvious ways:
//!
//! - Both series are differenced first. Two series that wander are correlated at every lag, and most at
//!   the lag at which they happen to wander alike; their steps are not.
//! - The answer is computed from the input alone, never from the measured output: a regression on the
//!   measured past takes its noise for memory and finds too small a gain.

/// Decays that are tried at every delay, before the best is refined.
const DECAYS: [f64; 8] = [0.0, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 0.98];
/// The decay is found to within this.
const DECAY_STEP: f64 = 1e-3;
/// Steps that must be left to judge by, for each delay that is tried.
const STEPS_PER_DELAY: usize = 3;
/// An answer this many standard errors from none is clear: the best of some hundred delays and decays
/// comes to three by chance.
const CLEAR: f64 = 4.0;

/// An uninterrupted stretch of both series, step by step.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// What changes.
    pub input: Vec<f64>,
    /// What answers; as long as the input.
    pub output: Vec<f64>,
}

/// How the output answers the input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LaggedResponse {
    /// Steps until the answer begins.
    pub delay: usize,
    /// Share of an answer that is still to come after one step more, 0 to 1: 0 if it comes all at once.
    pub decay: f64,
    /// Change of the output in the end, per change of the input.
    pub gain: f64,
    /// Standard error of the gain, for this delay and decay.
    pub gain_error: f64,
    /// Share of the output's steps (their variance) that the answer makes, 0 to 1.
    pub explained: f64,
}

impl LaggedResponse {
    /// Steps until the answer has come, on average over its parts.
    pub fn mean_lag(&self) -> f64 {
        self.delay as f64 + self.decay / (1.0 - self.decay)
    }

    /// Whether the answer is more than chance.
    pub fn is_clear(&self) -> bool {
        self.gain.abs() >= CLEAR * self.gain_error
    }
}

/// The response with the least squares over delays of 0 to `most_delay` steps. None where the input
/// never changes, where there are too few steps to judge by, or where a value is no number.
pub fn lagged_response(stretches: &[Stretch], most_delay: usize) -> Option<LaggedResponse> {
    let steps: Vec<Stretch> = stretches.iter().map(Stretch::differences).collect();
    // The first answers of a stretch are to what was before it: every delay is judged by the others.
    let judged: usize = steps.iter().map(|stretch| stretch.output.len().saturating_sub(most_delay)).sum();
    if judged < STEPS_PER_DELAY * (most_delay + 1) {
        return None;
    }
    let (decay, delay, _) = DECAYS
        .into_iter()
        .flat_map(|decay| {
            let answers = Answers::of(&steps, decay, most_delay);
            (0..=most_delay).filter_map(move |delay| Some((decay, delay, answers.fit(delay)?.squares)))
        })
        .min_by(|left, right| left.2.total_cmp(&right.2))?;
    let fit = |decay: f64| Answers::of(&steps, decay, most_delay).fit(delay);
    let decay = refine(decay, |decay| fit(decay).map_or(f64::INFINITY, |fit| fit.squares));
    let Fit { weight, weight_error, squares, total } = fit(decay)?;
    let whole = 1.0 - decay;
    let response = LaggedResponse {
        delay,
        decay,
        gain: weight / whole,
        gain_error: weight_error / whole,
        explained: 1.0 - squares / total,
    };
    response.gain_error.is_finite().then_some(response)
}

/// The decay with the least squares between the neighbours of the best one tried (golden section).
fn refine(best: f64, squares: impl Fn(f64) -> f64) -> f64 {
    let below = DECAYS.into_iter().rev().find(|decay| *decay < best).unwrap_or(best);
    let above = DECAYS.into_iter().find(|decay| *decay > best).unwrap_or(best);
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut low, mut high) = (below, above);
    while high - low > DECAY_STEP {
        let (left, right) = (high - golden * (high - low), low + golden * (high - low));
        if squares(left) < squares(right) { high = right } else { low = left }
    }
    low.midpoint(high)
}

impl Stretch {
    fn differences(&self) -> Self {
        let steps = |levels: &[f64]| levels.windows(2).map(|pair| pair[1] - pair[0]).collect();
        Self { input: steps(&self.input), output: steps(&self.output) }
    }
}

/// The answers to the input with one decay and a weight of 1, and the output to hold them against.
struct Answers<'a> {
    steps: &'a [Stretch],
    undelayed: Vec<Vec<f64>>,
    most_delay: usize,
}

struct Fit {
    weight: f64,
    weight_error: f64,
    /// Sum of squares that is left, and that there was.
    squares: f64,
    total: f64,
}

impl<'a> Answers<'a> {
    fn of(steps: &'a [Stretch], decay: f64, most_delay: usize) -> Self {
        let answer = |stretch: &Stretch| {
            let mut answer = 0.0;
            let next = |step: &f64| {
                answer = decay * answer + step;
                answer
            };
            stretch.input.iter().map(next).collect()
        };
        Self { steps, undelayed: steps.iter().map(answer).collect(), most_delay }
    }

    /// Regression of the output on the answers, a steady drift aside.
    fn fit(&self, delay: usize) -> Option<Fit> {
        let first = self.most_delay;
        let pairs = || {
            self.steps.iter().zip(&self.undelayed).flat_map(move |(stretch, answers)| {
                let outputs = stretch.output.get(first..).unwrap_or_default();
                answers.get(first - delay..).unwrap_or_default().iter().zip(outputs)
            })
        };
        let (mut count, mut answers, mut outputs) = (0.0, 0.0, 0.0);
        for (answer, output) in pairs() {
            count += 1.0;
            answers += answer;
            outputs += output;
        }
        let (mean_answer, mean_output) = (answers / count, outputs / count);
        let (mut of_answers, mut products, mut total) = (0.0, 0.0, 0.0);
        for (answer, output) in pairs() {
            let (answer, output) = (answer - mean_answer, output - mean_output);
            of_answers += answer * answer;
            products += answer * output;
            total += output * output;
        }
        let weight = products / of_answers;
        let squares = total - weight * products;
        let weight_error = (squares / (count - 2.0) / of_answers).sqrt();
        (of_answers > 0.0 && squares.is_finite()).then_some(Fit { weight, weight_error, squares, total })
    }
}
