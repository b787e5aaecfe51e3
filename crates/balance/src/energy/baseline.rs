//! The energy baseline (EnB): energy as it was, as a function of the relevant variables.

use std::fmt;

use reading::Timestamp;

use super::least_squares::LeastSquares;

/// A variable counts if its coefficient is this many standard errors from nought: 95 % (common practice).
const SIGNIFICANT: f64 = 2.0;
/// Fewest records for each unknown, so that the fit does not follow the scatter (common practice: six to ten).
const RECORDS_PER_UNKNOWN: usize = 6;
/// Fewest records at all: four days of three shifts.
const FEWEST_RECORDS: usize = 12;
/// Worst scatter about the fit, as a share of the mean: ASHRAE Guideline 14, prescriptive path (20 %; from memory).
const WORST_CV_RMSE: f64 = 0.20;
/// Worst mean bias of the last third, foreseen from the first two: ASHRAE Guideline 14, 5 % (from memory).
const WORST_NMBE: f64 = 0.05;
/// Least explained share of the variation (common practice) ...
const LEAST_R2: f64 = 0.75;
/// ... where there is variation to explain: a coefficient of variation above this.
const VARIES: f64 = 0.10;

/// A relevant variable: what energy depends on although nobody saves or wastes any.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variable {
    /// What it is, such as `T800`.
    pub name: String,
    /// Its unit, such as `t`.
    pub unit: String,
}

/// One record, as the baseline sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct BaselinePoint {
    /// When it began.
    pub starts: Timestamp,
    /// Energy used, kWh.
    pub energy_kwh: f64,
    /// One value for each variable.
    pub values: Vec<f64>,
}

/// How well a baseline stands, by ASHRAE Guideline 14's measures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitQuality {
    /// Share of the variation that is explained, R².
    pub r2: f64,
    /// CV(RMSE): standard deviation of the residuals (n − p degrees of freedom) over the mean.
    pub cv_rmse: f64,
    /// NMBE of the last third of the records, foreseen from the first two thirds: positive if less was used than
    /// foreseen. That of all records is nought by the method itself and would say nothing.
    pub nmbe: f64,
    /// How many records.
    pub records: usize,
}

/// A line's energy baseline.
#[derive(Debug, Clone, PartialEq)]
pub struct Baseline {
    /// The variables that count.
    pub variables: Vec<Variable>,
    /// Their places among those that were offered.
    kept: Vec<usize>,
    /// The variables that were offered and do not count.
    pub left_out: Vec<Variable>,
    /// The fit over the variables that count.
    pub fit: LeastSquares,
    /// How well it stands.
    pub quality: FitQuality,
    /// Lowest and highest value of each variable that was offered.
    ranges: Vec<(f64, f64)>,
    /// When the first of its records began.
    pub from: Timestamp,
    /// When the last of its records began.
    pub to: Timestamp,
}

/// Why records give no baseline.
#[derive(Debug, Clone, PartialEq)]
pub enum BaselineRefused {
    /// Too few of them.
    TooFew {
        /// How many there are.
        found: usize,
        /// How many it takes.
        needed: usize,
    },
    /// No variable explains the energy.
    NothingCounts {
        /// What was offered.
        offered: Vec<String>,
    },
    /// More product goes with less energy.
    Backwards {
        /// Which variable.
        variable: String,
        /// Its coefficient, kWh per unit.
        coefficient: f64,
    },
    /// Too much scatter, or too little explained.
    Loose(FitQuality),
    /// The last third is not foreseen by the first two: something changed meanwhile.
    Shifts(FitQuality),
}

impl fmt::Display for BaselineRefused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let pct = |share: &f64| 100.0 * share;
        match self {
            Self::TooFew { found, needed } => write!(
                f,
                "it has {found} complete records and needs {needed}; write a longer baseline period, or see which \
                 records lack coverage"
            ),
            Self::NothingCounts { offered } => write!(
                f,
                "none of {} explains the energy; choose a period in which production varied, or look whether the gas \
                 meter belongs to this line",
                offered.join(", ")
            ),
            Self::Backwards { variable, coefficient } => write!(
                f,
                "it says that more {variable} takes less energy ({coefficient:.1} kWh each); choose a period in which \
                 it varied by itself"
            ),
            Self::Loose(quality) => write!(
                f,
                "it explains too little: R2 {:.2} (at least {LEAST_R2}), CV(RMSE) {:.1} % (at most {:.0} %, ASHRAE \
                 Guideline 14); a relevant variable is missing, or the period mixes two ways of running",
                quality.r2,
                pct(&quality.cv_rmse),
                pct(&WORST_CV_RMSE)
            ),
            Self::Shifts(quality) => write!(
                f,
                "its last third uses {:.1} % {} than its first two thirds foresee (NMBE at most {:.0} %, ASHRAE \
                 Guideline 14); something changed during the period: end it before that, or begin it after",
                pct(&quality.nmbe.abs()),
                if quality.nmbe > 0.0 { "less" } else { "more" },
                pct(&WORST_NMBE)
            ),
        }
    }
}

impl Baseline {
    /// Fits records, in order of time, by the variables that count among those offered.
    ///
    /// Variables that follow from others, never move or are not significant are left out, the weakest first.
    ///
    /// # Errors
    /// Why the records give none.
    pub fn fit(offered: &[Variable], points: &[BaselinePoint]) -> Result<Self, BaselineRefused> {
        let needed = FEWEST_RECORDS.max(RECORDS_PER_UNKNOWN * 2);
        if points.len() < needed {
            return Err(BaselineRefused::TooFew { found: points.len(), needed });
        }
        let mut kept: Vec<usize> = (0..offered.len()).collect();
        let most = points.len() / RECORDS_PER_UNKNOWN - 1;
        let fit = loop {
            if kept.is_empty() {
                let offered = offered.iter().map(|variable| variable.name.clone()).collect();
                return Err(BaselineRefused::NothingCounts { offered });
            }
            let leaves = match fit_over(points, &kept) {
                Err(dependent) => dependent.column,
                Ok(fit) => match weakest(&fit) {
                    Some((column, strength)) if strength < SIGNIFICANT || kept.len() > most => column,
                    _ => break fit,
                },
            };
            kept.remove(leaves);
        };
        let backwards =
            kept.iter().zip(&fit.coefficients).find(|(at, slope)| offered[**at].unit == "t" && **slope < 0.0);
        if let Some((at, coefficient)) = backwards {
            let variable = offered[*at].name.clone();
            return Err(BaselineRefused::Backwards { variable, coefficient: *coefficient });
        }
        let quality = quality(points, &kept, &fit);
        let varies = fit_sd(points) / mean(points) > VARIES;
        if quality.cv_rmse > WORST_CV_RMSE || (varies && quality.r2 < LEAST_R2) {
            return Err(BaselineRefused::Loose(quality));
        }
        if quality.nmbe.abs() > WORST_NMBE {
            return Err(BaselineRefused::Shifts(quality));
        }
        let range = |at: usize| {
            let values = points.iter().map(|point| point.values[at]);
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
        };
        let (variables, left_out) =
            offered.iter().cloned().enumerate().partition::<Vec<_>, _>(|(at, _)| kept.contains(at));
        let plain = |numbered: Vec<(usize, Variable)>| numbered.into_iter().map(|(_, variable)| variable).collect();
        Ok(Self {
            variables: plain(variables),
            left_out: plain(left_out),
            ranges: (0..offered.len()).map(range).collect(),
            from: points[0].starts,
            to: points[points.len() - 1].starts,
            kept,
            fit,
            quality,
        })
    }

    /// The values of a record's variables that count.
    pub(crate) fn counted(&self, values: &[f64]) -> Vec<f64> {
        self.kept.iter().map(|at| values[*at]).collect()
    }

    /// Energy that these values of the offered variables would have taken before, kWh.
    #[must_use]
    pub fn expected_kwh(&self, values: &[f64]) -> f64 {
        self.fit.at(&self.counted(values))
    }

    /// The variables that count whose value lies outside what the baseline has seen, by more than a tenth of its range:
    /// for them it extrapolates.
    #[must_use]
    pub fn beyond(&self, values: &[f64]) -> Vec<&Variable> {
        let outside = |(at, _): &(&usize, &Variable)| !self.is_within(**at, values[**at], 0.1);
        self.kept.iter().zip(&self.variables).filter(outside).map(|(_, variable)| variable).collect()
    }

    /// Whether these values of the offered variables are of the kind that the baseline has seen: each within its range,
    /// widened by half. An oven that stood for a whole shift saved nothing, whatever a line through full shifts says.
    #[must_use]
    pub fn is_of_its_kind(&self, values: &[f64]) -> bool {
        values.iter().enumerate().all(|(at, value)| self.is_within(at, *value, 0.5))
    }

    fn is_within(&self, at: usize, value: f64, slack: f64) -> bool {
        let (low, high) = self.ranges[at];
        let slack = slack * (high - low);
        (low - slack..=high + slack).contains(&value)
    }
}

fn fit_over(points: &[BaselinePoint], kept: &[usize]) -> Result<LeastSquares, super::Dependent> {
    let columns: Vec<Vec<f64>> = kept.iter().map(|at| points.iter().map(|point| point.values[*at]).collect()).collect();
    let energy: Vec<f64> = points.iter().map(|point| point.energy_kwh).collect();
    LeastSquares::fit(&columns, &energy)
}

/// The least significant column, and how many standard errors its coefficient is from nought.
fn weakest(fit: &LeastSquares) -> Option<(usize, f64)> {
    let strengths = fit.coefficients.iter().zip(&fit.errors).map(|(value, error)| value.abs() / error);
    strengths.enumerate().min_by(|a, b| a.1.total_cmp(&b.1))
}

fn quality(points: &[BaselinePoint], kept: &[usize], fit: &LeastSquares) -> FitQuality {
    let (early, late) = points.split_at(points.len() * 2 / 3);
    // Where the first two thirds alone cannot be fitted, the whole fit foresees: milder, never harsher.
    let foreseen = fit_over(early, kept).unwrap_or_else(|_| fit.clone());
    let expected: f64 =
        late.iter().map(|point| foreseen.at(&kept.iter().map(|at| point.values[*at]).collect::<Vec<_>>())).sum();
    let actual: f64 = late.iter().map(|point| point.energy_kwh).sum();
    FitQuality {
        r2: fit.r2,
        cv_rmse: fit.residual_sd / mean(points),
        nmbe: (expected - actual) / actual,
        records: points.len(),
    }
}

fn mean(points: &[BaselinePoint]) -> f64 {
    points.iter().map(|point| point.energy_kwh).sum::<f64>() / points.len() as f64
}

fn fit_sd(points: &[BaselinePoint]) -> f64 {
    let mean = mean(points);
    let squares: f64 = points.iter().map(|point| (point.energy_kwh - mean).powi(2)).sum();
    (squares / (points.len() as f64 - 1.0)).sqrt()
}

#[cfg(test)]
mod tests;
