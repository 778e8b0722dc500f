//! Global risks: how often a rule of acceptance is wrong over many beds.

use truebed_core::{Prior, global_risks, guard_band};

use crate::pointer;
use crate::problems::Problems;
use crate::status::{Failure, boundary};

/// Prior: a normal distribution, by its mean and sigma.
pub const TRUEBED_PRIOR_NORMAL: i32 = 0;
/// Prior: a gamma distribution, of what cannot be below zero, as flatness, by its shape and scale:
/// its mean is shape · scale, its variance shape · scale².
pub const TRUEBED_PRIOR_GAMMA: i32 = 1;

/// What is known of a quantity before it is measured. Numbers of the other kind are 0.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_prior {
    /// sizeof(truebed_prior), set by the caller.
    pub struct_size: usize,
    /// Which distribution, a TRUEBED_PRIOR_ number.
    pub kind: i32,
    /// Of a normal one, in the unit of what is measured.
    pub mean: f64,
    /// Of a normal one, its standard deviation, in that unit.
    pub sigma: f64,
    /// Of a gamma one, without a unit.
    pub shape: f64,
    /// Of a gamma one, in the unit of what is measured.
    pub scale: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_prior {}

/// How often a rule of acceptance is wrong.
#[repr(C)]
pub struct truebed_risks {
    /// sizeof(truebed_risks), set by the caller.
    pub struct_size: usize,
    /// The probability that a bed is accepted and does not conform.
    pub consumer: f64,
    /// The probability that a bed is rejected and does conform.
    pub producer: f64,
    /// The probability that a bed does not conform.
    pub nonconforming: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_risks {}

/// The risks (JCGM 106:2012, 9.5) of accepting what is measured to be at most `acceptance` where at
/// most `tolerance` is allowed, with a standard uncertainty of measurement `sigma` and by what is
/// known of beds before they are measured; all in one unit. Writes them to `*risks`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for an unknown kind of prior,
/// uncertainties and scales that are not from 1e-9 to 1e9, shapes not from 1e-3 to 1e4, a mean or a
/// tolerance not from -1e9 to 1e9, an acceptance that is not finite, and parameters of the other kind.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_global_risks(
    prior: *const truebed_prior,
    sigma: f64,
    tolerance: f64,
    acceptance: f64,
    risks: *mut truebed_risks,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        let prior = unsafe {
            pointer::check_size(risks, "risks")?;
            read_prior(prior)?
        };
        let found = global_risks(prior, sigma, tolerance, acceptance)?;
        let answer = truebed_risks {
            struct_size: size_of::<truebed_risks>(),
            consumer: found.consumer,
            producer: found.producer,
            nonconforming: found.nonconforming,
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(risks, answer, "risks") }
    })
}

/// The guard band that brings the consumer's risk of `truebed_global_risks` down to `risk`: what is
/// measured is accepted up to `tolerance` less `*band`, which is below zero where the risk is smaller
/// than asked for without any.
///
/// Errors: those of `truebed_global_risks`; TRUEBED_BAD_VALUE for a risk that is not above 0 and below
/// 0.5, or no smaller than the probability that a bed does not conform, so that all may be accepted.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_guard_band(
    prior: *const truebed_prior,
    sigma: f64,
    tolerance: f64,
    risk: f64,
    band: *mut f64,
) -> i32 {
    boundary(|| {
        let band = pointer::out(band, "band")?;
        // SAFETY: the caller's promise.
        let prior = unsafe { read_prior(prior) }?;
        let found = guard_band(prior, sigma, tolerance, risk)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { band.write(found) };
        Ok(())
    })
}

unsafe fn read_prior(prior: *const truebed_prior) -> Result<Prior, Failure> {
    // SAFETY: the caller's promise.
    let truebed_prior { kind, mean, sigma, shape, scale, .. } =
        unsafe { pointer::grown(prior, "prior") }?;
    let mut problems = Problems::default();
    let normal = Prior::Normal { mean, sigma };
    let (prior, others) = match kind {
        TRUEBED_PRIOR_NORMAL => (normal, [("shape", shape), ("scale", scale)]),
        TRUEBED_PRIOR_GAMMA => (Prior::Gamma { shape, scale }, [("mean", mean), ("sigma", sigma)]),
        other => {
            problems.value("prior.kind", other, "a TRUEBED_PRIOR_ number, 0 or 1");
            (normal, [("", 0.0); 2])
        }
    };
    for (name, value) in others {
        if value != 0.0 {
            problems.value(format!("prior.{name}"), value, "0 for this kind of prior");
        }
    }
    problems.finish()?;
    Ok(prior)
}
