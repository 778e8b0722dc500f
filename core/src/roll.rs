//! What the residual tilt of a bed does to a slowly rolling ball.
//!
//! A solid ball that rolls without slipping down a slope θ gains (5/7) g sin θ. *Rolling resistance*
//! here is µ by the deceleration: on a level bed the ball slows by µ g, so µ = ½ (v₁² − v₂²)/(g s) over
//! a way s. That is the definition by which writing on billiards states its figures (deceleration
//! µ g; among others Leckie & Greenspan, "Pool Physics Simulation by Event Prediction", 2006, from
//! memory). "Comment on Coefficient of rolling friction—Lab experiment", Am. J. Phys. 90, 2022, 648,
//! has it beside the definition by the energy, which is 7/5 of it. A ball at rest stays where the slope
//! is at most (7/5) µ, the slope along which gravity and resistance are even.
//!
//! For a ball on cloth µ is about 0.01, from 0.005 to 0.015 (from memory; stated by deceleration).
//!
//! Here and in the surface functions are those of `libm` and not the platform's, whose last digits
//! differ: what a job tells of a ball must be the same everywhere.

mod surface;

use libm::hypot;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use surface::BedSurface;

use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};

/// Standard gravity, m/s².
const GRAVITY: f64 = 9.80665;
/// What a solid ball that rolls gets of an acceleration.
const ROLLING: f64 = 5.0 / 7.0;

/// The acceleration of a solid ball that rolls down a slope (a ratio, 0.001 for 1 mm/m) without
/// resistance, m/s²: (5/7) g sin θ.
pub fn rolling_acceleration(slope: f64) -> f64 {
    ROLLING * GRAVITY * slope / hypot(1.0, slope)
}

/// How far a ball that keeps rolling at a speed, m/s, drifts down a cross slope (a ratio) over a
/// length in mm: (5/14) g sin θ (L/v)², in mm.
pub fn drift_mm(cross_slope: f64, length_mm: f64, speed: f64) -> f64 {
    let time = length_mm * 1e-3 / speed;
    0.5 * rolling_acceleration(cross_slope) * time * time * 1e3
}

/// The speed, m/s, at which a ball just comes to rest after rolling a length in mm on a level bed:
/// √(2 µ g L).
pub fn dying_speed(length_mm: f64, resistance: f64) -> f64 {
    (2.0 * resistance * GRAVITY * length_mm * 1e-3).sqrt()
}

/// The steepest slope, a ratio, on which a ball at rest stays: (7/5) µ.
pub(crate) fn holding_slope(resistance: f64) -> f64 {
    resistance / ROLLING
}

/// How a ball rolled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct Roll {
    /// Where the ball started, mm.
    pub start_mm: [f64; 2],
    /// Where the ball came to rest or left the bed, mm.
    pub end_mm: [f64; 2],
    /// How far to the left of its line the ball ended, mm; below zero to the right. Left is
    /// counter-clockwise, as y is to the left of x.
    pub drift_mm: f64,
    /// How far along its line the ball got, mm.
    pub along_mm: f64,
    /// How long the ball rolled, s.
    pub time_s: f64,
    /// The speed at which the ball left the bed, m/s. It is 0 where the ball came to rest.
    pub speed: f64,
}

/// What the bed does to four balls that would just come to rest at the far end of a level bed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct BallRolls {
    /// The balls along the middle of the bed, towards greater x and towards lesser x.
    pub along: [Roll; 2],
    /// The balls across the middle of the bed, towards greater y and towards lesser y.
    pub across: [Roll; 2],
    /// The steepest slope at a point of the bed, as a ratio.
    pub steepest: f64,
    /// Whether a ball at rest stays at rest at every point.
    pub stays: bool,
}

/// The older name of [`BallRolls`].
pub type Play = BallRolls;

/// No ball is followed for longer than this, s,
const LONGEST: f64 = 120.0;
/// or for more steps, of which one that hovers about rest takes short ones.
const MOST_STEPS: usize = 250_000;

impl BedSurface {
    /// Rolls a ball from a place in plan, mm, at a velocity, m/s, against a rolling resistance (its
    /// deceleration on a level bed over g), until it
    /// comes to rest or leaves the rectangle of the points, or for two minutes or 250 000 steps: by Runge and Kutta's
    /// fourth-order rule in steps of 2 ms or less.
    ///
    /// # Errors
    /// A place outside the rectangle of the points; numbers that are not finite; no velocity; a
    /// resistance below 0 or above 1.
    pub fn roll(
        &self,
        start_mm: [f64; 2],
        velocity: [f64; 2],
        resistance: f64,
    ) -> Result<Roll, Error> {
        let mut found = Problems::default();
        check_resistance(resistance, &mut found);
        let speed = hypot(velocity[0], velocity[1]);
        if !(speed.is_finite() && speed > 0.0 && speed <= 100.0) {
            let got = format!("{} m/s, {} m/s", velocity[0], velocity[1]);
            found.add(ProblemKind::Value, "velocity", got, "a speed above 0 and at most 100 m/s");
        }
        if !self.holds(start_mm) {
            let [[x0, y0], [x1, y1]] = self.corners_mm();
            let expected =
                format!("a place with x from {x0} to {x1} mm and y from {y0} to {y1} mm");
            let got = format!("{} mm, {} mm", start_mm[0], start_mm[1]);
            found.add(ProblemKind::Value, "start", got, expected);
        }
        found.into_result()?;
        self.follow(start_mm, velocity, resistance, &Deadline::never())
    }

    fn follow(
        &self,
        start_mm: [f64; 2],
        velocity: [f64; 2],
        resistance: f64,
        deadline: &Deadline<'_>,
    ) -> Result<Roll, Error> {
        const STEP: f64 = 0.002;
        // Metres and seconds from here on.
        let mut ball = Ball { at: start_mm.map(|mm| mm * 1e-3), velocity };
        let mut time = 0.0;
        for _ in 0..MOST_STEPS {
            if time >= LONGEST {
                break;
            }
            deadline.spend(self.operations())?;
            // Slower and slower, the last way in ever shorter steps.
            let slowing = GRAVITY * resistance;
            let speed = ball.speed();
            let step = if slowing > 0.0 { STEP.min(0.1 * speed / slowing).max(1e-5) } else { STEP };
            let next = ball.step(self, resistance, step);
            let turned = next.velocity[0] * ball.velocity[0] + next.velocity[1] * ball.velocity[1];
            if (turned <= 0.0 || next.speed() < 1e-5)
                && self.steepness(ball.at) <= holding_slope(resistance)
            {
                ball.velocity = [0.0; 2];
                break;
            }
            let to = next.at.map(|m| m * 1e3);
            if !self.holds(to) {
                let from = ball.at.map(|m| m * 1e3);
                let part = self.part_inside(from, to);
                let between = |from: [f64; 2], to: [f64; 2]| {
                    [0, 1].map(|axis| from[axis] + part * (to[axis] - from[axis]))
                };
                let velocity = between(ball.velocity, next.velocity);
                ball = Ball { at: between(ball.at, next.at), velocity };
                time += part * step;
                break;
            }
            ball = next;
            time += step;
        }
        let sent = hypot(velocity[0], velocity[1]);
        let [ux, uy] = velocity.map(|part| part / sent);
        let end_mm = ball.at.map(|m| m * 1e3);
        let [dx, dy] = [end_mm[0] - start_mm[0], end_mm[1] - start_mm[1]];
        Ok(Roll {
            start_mm,
            end_mm,
            drift_mm: ux * dy - uy * dx,
            along_mm: ux * dx + uy * dy,
            time_s: time,
            speed: ball.speed(),
        })
    }

    /// What the bed does to slow balls: each is sent along or across the middle of the rectangle of the
    /// points at the [`dying_speed`] of that length.
    ///
    /// # Errors
    /// A resistance that is not above 0 and at most 1; points on a line along x or y.
    pub fn roll_balls(&self, resistance: f64) -> Result<BallRolls, Error> {
        self.roll_balls_until(resistance, &Deadline::never())
    }

    /// The older name of [`roll_balls`](Self::roll_balls).
    ///
    /// # Errors
    /// Those of [`roll_balls`](Self::roll_balls).
    pub fn play(&self, resistance: f64) -> Result<BallRolls, Error> {
        self.roll_balls(resistance)
    }

    /// The same, but stopped where its time is over.
    pub(crate) fn roll_balls_until(
        &self,
        resistance: f64,
        deadline: &Deadline<'_>,
    ) -> Result<BallRolls, Error> {
        check_stopping(resistance)?;
        let [[x0, y0], [x1, y1]] = self.corners_mm();
        let middle = [0.5 * (x0 + x1), 0.5 * (y0 + y1)];
        let along = dying_speed(x1 - x0, resistance);
        let across = dying_speed(y1 - y0, resistance);
        let roll = |start, velocity| self.follow(start, velocity, resistance, deadline);
        let steepest = self.steepest();
        Ok(BallRolls {
            along: [roll([x0, middle[1]], [along, 0.0])?, roll([x1, middle[1]], [-along, 0.0])?],
            across: [roll([middle[0], y0], [0.0, across])?, roll([middle[0], y1], [0.0, -across])?],
            steepest,
            stays: steepest <= holding_slope(resistance),
        })
    }
}

/// Finds what is wrong with a resistance that is to bring balls to rest.
pub(crate) fn check_stopping(resistance: f64) -> Result<(), Error> {
    let mut found = Problems::default();
    check_resistance(resistance, &mut found);
    // One that is hardly a number would leave the dying speed none.
    if resistance == 0.0 || resistance.is_subnormal() {
        let expected = "a ratio above 0: no ball would stop";
        found.add(ProblemKind::Value, "resistance", resistance, expected);
    }
    found.into_result()
}

fn check_resistance(resistance: f64, found: &mut Problems) {
    if !(0.0..=1.0).contains(&resistance) {
        let expected = "a ratio from 0 to 1, about 0.01 on cloth";
        found.add(ProblemKind::Value, "resistance", resistance, expected);
    }
}

/// A ball in plan, m and m/s.
#[derive(Debug, Clone, Copy)]
struct Ball {
    at: [f64; 2],
    velocity: [f64; 2],
}

impl Ball {
    fn speed(&self) -> f64 {
        hypot(self.velocity[0], self.velocity[1])
    }

    /// What changes in a second, by the slope and the resistance.
    fn rate(&self, surface: &BedSurface, resistance: f64) -> Self {
        let slope = surface.slope(self.at.map(|m| m * 1e3));
        let steep = hypot(1.0, hypot(slope[0], slope[1]));
        let speed = self.speed();
        let against = if speed > 0.0 { resistance / speed } else { 0.0 };
        let pull = |axis: usize| {
            -GRAVITY * (ROLLING * slope[axis] / steep + against * self.velocity[axis])
        };
        Self { at: self.velocity, velocity: [pull(0), pull(1)] }
    }

    fn moved(&self, rate: &Self, step: f64) -> Self {
        Self {
            at: [0, 1].map(|axis| self.at[axis] + step * rate.at[axis]),
            velocity: [0, 1].map(|axis| self.velocity[axis] + step * rate.velocity[axis]),
        }
    }

    fn step(&self, surface: &BedSurface, resistance: f64, step: f64) -> Self {
        let first = self.rate(surface, resistance);
        let second = self.moved(&first, 0.5 * step).rate(surface, resistance);
        let third = self.moved(&second, 0.5 * step).rate(surface, resistance);
        let fourth = self.moved(&third, step).rate(surface, resistance);
        let mean = |of: fn(&Self) -> [f64; 2]| {
            [0, 1].map(|axis| {
                let [a, b, c, d] = [&first, &second, &third, &fourth].map(|rate| of(rate)[axis]);
                (a + 2.0 * b + 2.0 * c + d) / 6.0
            })
        };
        self.moved(&Self { at: mean(|rate| rate.at), velocity: mean(|rate| rate.velocity) }, step)
    }
}
