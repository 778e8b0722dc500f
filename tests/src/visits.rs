//! Two visits to a table, simulated from the floor to the verdict: what a verdict promises is held
//! against the truth.

use truebed::{
    Conformity, Evidence, Instrument, Length, Limits, Reading, Shim, ShimProblem, Support, Survey,
    adjust, assess, assess_with, plan_shims,
};

use crate::random::Random;

/// What was said of a bed that was levelled and read again, and what is true.
#[derive(Debug, Clone, Copy)]
pub struct Visit {
    /// Whether the bed truly meets its limit.
    pub is_good: bool,
    /// What the probability alone would say, every height being equally likely beforehand: at least
    /// 95 % for met, at most 5 % for not met.
    pub by_probability: Conformity,
    /// The verdict on the second survey by itself.
    pub by_itself: Conformity,
    /// The verdict with what the plan predicted.
    pub with_prediction: Conformity,
}

/// The difference of height that is allowed, mm: ±0.15 mm over all.
const WIDTH_MM: f64 = 0.3;

/// Readings of heights in mm from one set-up, a staff to a point.
fn survey(heights: &[f64], sigma: f64, random: &mut Random) -> Survey {
    let above = 1000.0 + random.normal();
    let reading = |(at, height): (usize, &f64)| {
        let value = above - height + sigma * random.normal();
        Reading::from_setup("S", Instrument::Staff, format!("P{at}"), value, Some(sigma))
    };
    Survey::new(heights.iter().enumerate().map(reading).collect())
}

/// Levels a floor of so many points by readings of a standard uncertainty that is this part of the
/// limit, reads the bed again with the same instrument, and asks for verdicts.
///
/// # Errors
/// None that is known of.
pub fn visit(points: usize, part: f64, random: &mut Random) -> Result<Visit, truebed::Error> {
    let sigma = part * WIDTH_MM;
    let floor: Vec<f64> = (0..points).map(|_| 4.0 * random.unit()).collect();
    let place = |at: usize| [(at / 2) as f64 * 600.0, (at % 2) as f64 * 900.0];
    let first = adjust(&survey(&floor, sigma, random))?;
    let support = |(at, &height): (usize, &f64)| {
        let [x, y] = place(at).map(Length::from_mm);
        Ok(Support { x: x?, y: y?, height: Length::from_mm(height)? })
    };
    let supports =
        first.mm.iter().enumerate().map(support).collect::<Result<_, truebed::Error>>()?;
    let kinds = [2.0, 1.0, 0.5, 0.2, 0.1, 0.05];
    let stock = kinds.iter().map(|&mm| Ok(Shim::new(Length::from_mm(mm)?, None)));
    let limits = Limits::overall(Length::from_mm(0.5 * WIDTH_MM)?);
    let mut problem =
        ShimProblem::new(supports, stock.collect::<Result<_, truebed::Error>>()?, limits.clone());
    problem.covariance_mm2 = Some(first.covariance_mm2());
    problem.options.budget.nodes = 200_000;
    let plan = plan_shims(&problem)?;

    let bed: Vec<f64> =
        floor.iter().zip(&plan.lifts).map(|(floor, lift)| floor + lift.mm()).collect();
    let high = bed.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = bed.iter().copied().fold(f64::INFINITY, f64::min);
    let second = adjust(&survey(&bed, sigma, random))?;
    let xy: Vec<_> = problem.supports.iter().map(|support| [support.x, support.y]).collect();
    let covariance = second.covariance_mm2();
    let heights: Vec<Length> =
        second.mm.iter().map(|&mm| Length::from_mm(mm)).collect::<Result<_, _>>()?;
    let mut evidence = Evidence::default();
    let by_itself = assess(&xy, &heights, &covariance, &limits, &[], evidence.rule)?;
    evidence.prediction = Some(plan.prediction(&problem, 0.0)?);
    let with_prediction = assess_with(&xy, &heights, &covariance, &limits, &[], &evidence)?;
    let by_probability = match by_itself.probability {
        sure if sure >= 0.95 => Conformity::Met,
        sure if sure <= 0.05 => Conformity::NotMet,
        _ => Conformity::CannotTell,
    };
    Ok(Visit {
        is_good: high - low <= WIDTH_MM,
        by_probability,
        by_itself: by_itself.conformity,
        with_prediction: with_prediction.conformity,
    })
}

/// How often verdicts were given, and how often they were wrong.
#[derive(Debug, Clone, Copy, Default)]
pub struct Promise {
    /// How often "met" was said,
    pub met: usize,
    /// and how often of a bed that does not meet its limit.
    pub wrongly_met: usize,
    /// How often "not met" was said,
    pub not_met: usize,
    /// and how often of a bed that meets its limit.
    pub wrongly_not_met: usize,
}

impl Promise {
    /// Counts a verdict.
    pub fn count(&mut self, said: Conformity, is_good: bool) {
        match said {
            Conformity::Met => {
                self.met += 1;
                self.wrongly_met += usize::from(!is_good);
            }
            Conformity::NotMet => {
                self.not_met += 1;
                self.wrongly_not_met += usize::from(is_good);
            }
            _ => {}
        }
    }

    /// Whether both promises of 95 % are kept, up to what chance makes of so few: three standard
    /// deviations.
    pub fn is_kept(&self) -> bool {
        let kept = |said: usize, wrong: usize| {
            let (said, wrong) = (said as f64, wrong as f64);
            wrong <= 0.05 * said + 3.0 * (0.05 * 0.95 * said).sqrt()
        };
        kept(self.met, self.wrongly_met) && kept(self.not_met, self.wrongly_not_met)
    }
}
