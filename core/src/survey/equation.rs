//! The equation of each kind of reading, and its default uncertainty.

use super::Survey;
use super::builder::Builder;
use super::divisions::Divisions;
use super::instrument::{ELECTRONIC_SIGMA, Instrument, ZERO_SIGMA};
use super::measured::{Mm, Slope};
use super::network::{Network, Row};
use super::reading::Reading;
use crate::error::{Error, ProblemKind};

/// Default standard uncertainty of a rise, mm: that of a difference of two staff readings.
const RISE_SIGMA_MM: f64 = 0.3 * std::f64::consts::SQRT_2;

/// Default standard uncertainty of a gap, mm: a feeler gauge goes by leaves of 0.05 mm, and the gap
/// lies anywhere between the one that enters and the next, so 0.05 mm / √12 (common practice).
const GAP_SIGMA_MM: f64 = 0.0144;

/// Default standard uncertainty of one reading of a bubble, in divisions: a fifth is the least that
/// an eye tells apart at both ends of a bubble (common practice).
pub(super) const BUBBLE_SIGMA: f64 = 0.2;

/// Makes the network of a survey, or reports everything that is wrong with it.
pub(super) fn network(survey: &Survey) -> Result<Network<'_>, Error> {
    let mut builder = Builder::new(survey);
    for (at, reading) in survey.readings.iter().enumerate() {
        if let Some(row) = builder.row(at, reading) {
            builder.add(at, row);
        }
    }
    builder.finish()
}

impl Survey {
    /// Finds what is wrong with the readings as such, without adjusting them.
    ///
    /// # Errors
    /// As [`adjust`](crate::adjust), but for points that are not tied together.
    pub fn check_readings(&self) -> Result<(), Error> {
        network(self).map(|_| ())
    }
}

impl<'a> Builder<'a> {
    /// The equation of a reading; none where it fixes its point, or where it is wrong.
    // Inlined, or each row would be copied about as often as it is made.
    #[inline(always)]
    fn row(&mut self, at: usize, reading: &'a Reading) -> Option<Row> {
        let field = |name: &str| format!("readings[{at}].{name}");
        match reading {
            Reading::Height { point, value, sigma, setup, instrument, note: _ } => {
                let read = self.length(at, *value, *sigma);
                let p = self.point(|| field("point"), point);
                let (p, (value, sigma)) = (p?, read?);
                match setup {
                    Some(setup) => {
                        let instrument = instrument.unwrap_or_default();
                        Some(self.sight(at, setup, instrument, p, value, sigma))
                    }
                    None if instrument.is_some() => {
                        let expected = "the name of the set-up that the instrument read from";
                        self.refuse(ProblemKind::Value, field("setup"), "none", expected);
                        None
                    }
                    None => self.typed(at, point, p, value, sigma),
                }
            }
            Reading::Rise { a, b, value, sigma, note: _ } => {
                let read = self.length(at, *value, *sigma);
                let ((a, b), (value, sigma)) = (self.ends(at, a, b)?, read?);
                Some(Row::rise(a, b, value, sigma.unwrap_or(RISE_SIGMA_MM)))
            }
            Reading::Bubble {
                a,
                b,
                divisions,
                sensitivity,
                base,
                span,
                level,
                turned,
                sigma,
                note: _,
            } => {
                self.check_bubble(at, divisions, *sensitivity, *sigma);
                let steps = divisions.steps();
                let base = base.and_then(|base| self.span_of(|| field("base"), base));
                let ends = self.ends(at, a, b);
                let stepped = base.map(|base| base * steps.len() as f64);
                let span = self.span(at, *span, ends, stepped);
                let ((a, b), span) = (ends?, span?);
                self.check_reach(at, steps.len(), base, span);
                let count = steps.len() as f64;
                let mean = steps.iter().sum::<f64>() / count;
                let step = sigma.unwrap_or(BUBBLE_SIGMA) / count.sqrt();
                let level = self.level(level, ZERO_SIGMA * sensitivity.mm_per_m);
                let rise = |divisions: f64| sensitivity.over(divisions * span);
                let row = Row::rise(a, b, rise(mean), rise(step));
                Some(row.with_zero(level, metres(span, *turned)))
            }
            Reading::Slope { a, b, value, span, level, turned, sigma, note: _ } => {
                self.finite(|| field("value"), value.mm_per_m);
                if let Some(sigma) = sigma {
                    self.check_sigma(|| field("sigma"), sigma.mm_per_m, "mm/m");
                }
                let ends = self.ends(at, a, b);
                let span = self.span(at, *span, ends, None);
                let ((a, b), span) = (ends?, span?);
                let level = self.level(level, ELECTRONIC_SIGMA.mm_per_m);
                let sigma = sigma.unwrap_or(ELECTRONIC_SIGMA).over(span);
                let row = Row::rise(a, b, value.over(span), sigma);
                Some(row.with_zero(level, metres(span, *turned)))
            }
            Reading::Gap { point, a, b, value, at: part, sigma, note: _ } => {
                let read = self.length(at, *value, *sigma);
                let p = self.point(|| field("point"), point);
                let ends = self.ends(at, a, b);
                let (p, (a, b)) = (p?, ends?);
                if p == a || p == b {
                    let expected = "a point between those that the straightedge rests on";
                    self.refuse(ProblemKind::Value, field("point"), format!("{point:?}"), expected);
                    return None;
                }
                let part = self.part(at, *part, p, a, b)?;
                let terms = [(a, 1.0 - part), (b, part), (p, -1.0)];
                let (value, sigma) = read?;
                Some(Row::new(&terms, value, sigma.unwrap_or(GAP_SIGMA_MM)))
            }
            // What floats is read at its points, and stands higher than what is under it.
            Reading::LegGap { point, value, sigma, note: _ }
            | Reading::SlateGap { point, value, sigma, note: _ } => {
                let read = self.length(at, *value, *sigma);
                let frame = self.point(|| field("point"), point);
                let (frame, (value, sigma)) = (frame?, read?);
                if value < 0.0 {
                    let expected = "a length of at least 0 mm";
                    self.refuse(ProblemKind::Value, field("value"), Mm(value), expected);
                }
                let floor = self.floor_under(frame);
                Some(Row::rise(floor, frame, value, sigma.unwrap_or(GAP_SIGMA_MM)))
            }
        }
    }

    /// A length that was read and its σ where one is given, both in mm.
    fn length(&mut self, at: usize, value: Mm, sigma: Option<Mm>) -> Option<(f64, Option<f64>)> {
        let value = self.finite(|| format!("readings[{at}].value"), value.0);
        let sigma = self.sigma(|| format!("readings[{at}].sigma"), sigma);
        value.zip(sigma)
    }

    /// What an instrument reads at a point from a set-up.
    #[inline(always)]
    fn sight(
        &mut self,
        at: usize,
        setup: &'a str,
        instrument: Instrument,
        point: usize,
        value: f64,
        sigma: Option<f64>,
    ) -> Row {
        let (o, slopes) = self.setup(at, setup, instrument);
        let by = instrument.sign();
        let sigma = sigma.unwrap_or_else(|| instrument.default_sigma_mm());
        let row = Row::new(&[(point, by), (o, -by)], value, sigma);
        match slopes.zip(self.off_middle(point)) {
            None => row,
            Some((slopes, place)) => row.with_slopes(slopes, place.map(|mm| -by * 1e-3 * mm)),
        }
    }

    fn check_bubble(
        &mut self,
        at: usize,
        divisions: &Divisions,
        sensitivity: Slope,
        sigma: Option<f64>,
    ) {
        let field = |name: &str| format!("readings[{at}].{name}");
        if divisions.steps().is_empty() {
            let expected = "at least one number of divisions";
            self.refuse(ProblemKind::Value, field("divisions"), "none", expected);
        }
        for (step, read) in divisions.steps().iter().enumerate() {
            let name = || match divisions {
                Divisions::One(_) => field("divisions"),
                Divisions::Steps(_) => format!("readings[{at}].divisions[{step}]"),
            };
            self.finite(name, *read);
        }
        self.check_sigma(|| field("sensitivity"), sensitivity.mm_per_m, "mm/m");
        if let Some(sigma) = sigma {
            self.check_sigma(|| field("sigma"), sigma, "divisions");
        }
    }

    /// Several steps must reach as far as the span, or fall short by less than a base.
    fn check_reach(&mut self, at: usize, steps: usize, base: Option<f64>, span: f64) {
        let Some(base) = base.filter(|_| steps > 1) else { return };
        if (base * steps as f64 - span).abs() >= base {
            let got = format!("{steps} steps of {base} mm");
            let expected = format!("steps that reach {span} mm to less than a base");
            self.refuse(ProblemKind::Value, format!("readings[{at}].divisions"), got, expected);
        }
    }
}

/// What a level's zero error is multiplied by: its span in metres, negative where the level was
/// turned.
fn metres(span: f64, turned: bool) -> f64 {
    1e-3 * if turned { -span } else { span }
}
