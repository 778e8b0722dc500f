//! A slate piece as an elastic plate.

use crate::error::{Error, ProblemKind, Problems};

/// The standard acceleration of free fall, m/s² (CGPM 1901).
pub(super) const GRAVITY: f64 = 9.806_65;

/// One slate piece: a rectangle in plan, flat when nothing acts on it.
///
/// It is a thin plate of one thickness that bends the same in all directions (Kirchhoff). Pockets
/// and holes, grain, glue and creep are not modelled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slab {
    /// Where it begins and ends along the bed, mm.
    pub x_mm: [f64; 2],
    /// Where it begins and ends across, mm.
    pub y_mm: [f64; 2],
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Modulus of elasticity, GPa.
    pub e_gpa: f64,
    /// Poisson's ratio, from 0 to below 0.5.
    pub nu: f64,
    /// Density, kg/m³.
    pub density_kg_per_m3: f64,
    /// Bending strength (modulus of rupture), MPa; none where it is not known.
    pub strength_mpa: Option<f64>,
    /// What the strength is divided by before a stress is held against it; 1 by default. No source
    /// was read for a safety factor of slate, so whoever sets one makes a choice.
    pub strength_factor: f64,
}

impl Slab {
    /// The longest side, mm.
    pub const LONGEST_MM: f64 = 1e5;

    /// A slab of which no strength is known.
    pub fn new(
        x_mm: [f64; 2],
        y_mm: [f64; 2],
        thickness_mm: f64,
        e_gpa: f64,
        nu: f64,
        density_kg_per_m3: f64,
    ) -> Self {
        let strength_factor = 1.0;
        Self {
            x_mm,
            y_mm,
            thickness_mm,
            e_gpa,
            nu,
            density_kg_per_m3,
            strength_mpa: None,
            strength_factor,
        }
    }

    /// Bending stiffness D = E h³ / 12 (1 − ν²), N mm.
    pub fn stiffness_n_mm(&self) -> f64 {
        let cube = self.thickness_mm * self.thickness_mm * self.thickness_mm;
        1e3 * self.e_gpa * cube / (12.0 * (1.0 - self.nu * self.nu))
    }

    /// Its weight, N.
    pub fn weight_n(&self) -> f64 {
        let volume = self.sides().iter().product::<f64>() * self.thickness_mm;
        1e-9 * self.density_kg_per_m3 * volume * GRAVITY
    }

    /// Length along the bed and across, mm.
    pub(super) fn sides(&self) -> [f64; 2] {
        [self.x_mm, self.y_mm].map(|[from, to]| to - from)
    }

    pub(super) fn middle(&self) -> [f64; 2] {
        [self.x_mm, self.y_mm].map(|[from, to]| 0.5 * (from + to))
    }

    /// Whether a place lies on the slab, its edges included.
    pub(super) fn holds(&self, [x, y]: [f64; 2]) -> bool {
        let within = |[from, to]: [f64; 2], at: f64| from <= at && at <= to;
        within(self.x_mm, x) && within(self.y_mm, y)
    }

    /// The outline in words, for what was expected.
    pub(super) fn outline(&self) -> String {
        let ([x0, x1], [y0, y1]) = (self.x_mm, self.y_mm);
        format!("x from {x0} to {x1} mm and y from {y0} to {y1} mm, as the slab has")
    }

    /// Finds what is wrong with the slab.
    ///
    /// # Errors
    /// Ends that are not finite, or in the wrong order, or less than 1 mm or more than 100 m apart; a
    /// thickness, modulus, density or strength that is not above 0; a Poisson's ratio outside 0 to
    /// 0.5; a factor below 1.
    pub fn check(&self) -> Result<(), Error> {
        let mut found = Problems::default();
        self.find_problems(&mut found);
        found.into_result()
    }

    fn find_problems(&self, found: &mut Problems) {
        let mut within = |name: &str, value: f64, fits: bool, expected: &str| {
            if !(value.is_finite() && fits) {
                found.add(ProblemKind::Value, format!("slab.{name}"), value, expected);
            }
        };
        for (name, [from, to]) in [("x", self.x_mm), ("y", self.y_mm)] {
            let far = 1e9;
            let expected = "a place within ±1000 km, in mm";
            within(&format!("{name}[0]"), from, from.abs() <= far, expected);
            let expected = "a place 1 mm to 100 m beyond the first, in mm";
            let long = (1.0..=Self::LONGEST_MM).contains(&(to - from)) || !from.is_finite();
            within(&format!("{name}[1]"), to, long, expected);
        }
        let positive = |value: f64, most: f64| value > 0.0 && value <= most;
        let thick = self.thickness_mm;
        within("thickness", thick, positive(thick, 1e4), "a thickness above 0 mm, at most 10 m");
        let e = self.e_gpa;
        within("e_gpa", e, positive(e, 1e6), "a modulus above 0 GPa, at most 1e6 GPa");
        let nu = self.nu;
        within("nu", nu, (0.0..0.5).contains(&nu), "a ratio from 0 to below 0.5");
        let density = self.density_kg_per_m3;
        let expected = "a density above 0 kg/m³, at most 1e5 kg/m³";
        within("density", density, positive(density, 1e5), expected);
        if let Some(strength) = self.strength_mpa {
            let expected = "a strength above 0 MPa, at most 1e6 MPa";
            within("strength_mpa", strength, positive(strength, 1e6), expected);
        }
        let factor = self.strength_factor;
        let expected = "a factor from 1 to 1000";
        within("strength_factor", factor, (1.0..=1e3).contains(&factor), expected);
    }
}
