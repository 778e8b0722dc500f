//! Slates as elastic plates: what each does on the stacks of a plan.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::fields;
use super::outcome::{SlateOutcome, SlateSupportOutcome, TestLoadOutcome};
use crate::bed::{BearSettings, Bearing, LaidSlab, Load, LoadTest, OnPoints, Slab, SlabSupport};
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::Preset;
use crate::plane::{PlaneKind, fit_plane};
use crate::points::{Point, Role};

/// A slate piece as an elastic plate: a rectangle in plan of one thickness.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SlatePiece {
    /// The name of the piece, as its points have it.
    pub name: String,
    /// Where it begins and ends along the bed.
    pub x: [Length; 2],
    /// Where it begins and ends across.
    pub y: [Length; 2],
    /// The thickness of the piece.
    pub thickness: Length,
    /// What it is made of.
    #[serde(default)]
    pub material: Material,
    /// The force, in newtons, up to which a screw at each of its points holds the slate down. The
    /// default is 0: nothing holds it down but its weight.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub pull_n: f64,
    /// What each of its points should carry at the least, in newtons, with what its screw can add. The
    /// default is 0: more than nothing.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub least_force_n: f64,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "what serde asks for")]
fn is_zero(force: &f64) -> bool {
    *force == 0.0
}

/// What a slate is made of. The default is a slate of Virginia: its modulus and density are those of a
/// quarry's data sheet, and for its Poisson's ratio no source was read.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Material {
    /// The modulus of elasticity, GPa. The default is 48.36.
    pub e_gpa: f64,
    /// Poisson's ratio, from 0 to below 0.5. The default is 0.25.
    pub nu: f64,
    /// The density, kg/m³. The default is 2793.6.
    pub density_kg_per_m3: f64,
    /// The bending strength (modulus of rupture), MPa. Without it there is no stress ratio.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strength_mpa: Option<f64>,
    /// What the strength is divided by before a stress is held against it. The default is 1; no
    /// source was read for a safety factor of slate, so it is your choice.
    pub strength_factor: f64,
}

impl Default for Material {
    fn default() -> Self {
        Self {
            e_gpa: 48.36,
            nu: 0.25,
            density_kg_per_m3: 2793.6,
            strength_mpa: None,
            strength_factor: 1.0,
        }
    }
}

/// A load by which the bed is tried on paper: how far the slate under it goes down.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TestLoad {
    /// Where it stands along the bed.
    pub x: Length,
    /// Where it stands across.
    pub y: Length,
    /// The load, N. Without it, that of the preset.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub newtons: Option<f64>,
    /// How far the surface may go down under it. Without it, as far as the preset says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<Length>,
    /// A published document of limits. "WPA 2001": at most 0.030 in under 200 lb [90.7 kg] at the
    /// centre of the bed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub preset: Option<Preset>,
}

impl TestLoad {
    fn test(&self) -> Result<LoadTest, Error> {
        let preset = self.preset.map(|Preset::Wpa2001| LoadTest::WPA_2001);
        let newtons = self.newtons.or(preset.map(|preset| preset.newtons));
        let limit_mm = self.limit.map(Length::mm).or(preset.map(|preset| preset.limit_mm));
        let (Some(newtons), Some(limit_mm)) = (newtons, limit_mm) else {
            let missing = if newtons.is_none() { "newtons" } else { "limit" };
            let field = format!("test_load.{missing}");
            let expected = "newtons and a limit, or a preset";
            return Err(Error::new(ProblemKind::Value, field, "none", expected));
        };
        LoadTest::new(newtons, limit_mm).map_err(|error| {
            error.each(|problem| {
                let field = problem.field.trim_start_matches("test.").trim_end_matches("_mm");
                problem.field = format!("test_load.{field}");
            })
        })
    }

    fn xy_mm(&self) -> [f64; 2] {
        [self.x.mm(), self.y.mm()]
    }
}

/// Places in plan and the heights of a surface there, mm.
pub(super) type Lattice = (Vec<[f64; 2]>, Vec<f64>);

/// A slate piece on its supports.
pub(super) struct Laid {
    pub(super) name: String,
    /// Its points in the list of the stage's.
    pub(super) points: Vec<usize>,
    pub(super) slab: LaidSlab,
    /// What each of its points should carry at the least, N.
    pub(super) least_force_n: f64,
    /// The same under the test load, where that stands on it.
    tested: Option<(LaidSlab, [f64; 2], LoadTest)>,
}

/// Lays the pieces that a stage of this name describes.
///
/// # Errors
/// Pieces among legs; names that no point has, or twice; slabs, points and loads that cannot be; a
/// test load on no piece; no time left.
pub(super) fn lay(
    pieces: &[SlatePiece],
    test_load: Option<TestLoad>,
    name: &str,
    points: &[(usize, &Point)],
    deadline: &Deadline<'_>,
) -> Result<Vec<Laid>, Error> {
    let mut found = Problems::default();
    if name == "legs" && (!pieces.is_empty() || test_load.is_some()) {
        let expected = "none: legs carry no slates";
        let (field, got) = ("legs.pieces", "slates among legs");
        return Err(Error::new(ProblemKind::Value, field, got, expected));
    }
    let field = |at: usize| format!("{name}.pieces[{at}]");
    let test = test_load.map(|load| load.test());
    let test = test.and_then(|test| found.take(test.map_err(|it| it.within(name))));
    let load = test_load.zip(test);
    let mut laid = Vec::new();
    for (at, piece) in pieces.iter().enumerate() {
        if pieces[..at].iter().any(|other| other.name == piece.name) {
            let expected = "a piece that is described once";
            found.add(ProblemKind::Duplicate, field(at), format!("{:?}", piece.name), expected);
        } else {
            deadline.spend(u64::MAX)?;
            let one = piece.lay(points, load, &field(at));
            laid.extend(found.take(one));
        }
    }
    let tested = laid.iter().any(|laid| laid.tested.is_some());
    if let Some((load, _)) = load.filter(|_| laid.len() == pieces.len() && !tested) {
        let got = format!("x = {}, y = {}", load.x, load.y);
        found.add(
            ProblemKind::Value,
            format!("{name}.test_load"),
            got,
            "a place on one of the pieces",
        );
    }
    found.into_result()?;
    Ok(laid)
}

impl SlatePiece {
    fn lay(
        &self,
        points: &[(usize, &Point)],
        load: Option<(TestLoad, LoadTest)>,
        field: &str,
    ) -> Result<Laid, Error> {
        let role = Role::Slate(self.name.clone());
        let own: Vec<usize> = (0..points.len()).filter(|&at| points[at].1.role == role).collect();
        if own.is_empty() {
            let expected = "the name of a piece that points have";
            return Err(Error::new(
                ProblemKind::Unknown,
                format!("{field}.name"),
                format!("{:?}", self.name),
                expected,
            ));
        }
        if !(0.0..=Load::MOST_N).contains(&self.least_force_n) {
            let expected = "a force from 0 to 1e9 N";
            let (field, got) = ("least_force_n", self.least_force_n);
            return Err(Error::new(ProblemKind::Value, field, got, expected));
        }
        let [x, y] = [self.x, self.y].map(|ends| ends.map(Length::mm));
        let Material { e_gpa, nu, density_kg_per_m3, strength_mpa, strength_factor } =
            self.material;
        let mut slab = Slab::new(x, y, self.thickness.mm(), e_gpa, nu, density_kg_per_m3);
        (slab.strength_mpa, slab.strength_factor) = (strength_mpa, strength_factor);
        let support = |&at: &usize| {
            let mut support = SlabSupport::at([points[at].1.x.mm(), points[at].1.y.mm()]);
            support.pull_n = self.pull_n;
            support
        };
        let supports: Vec<SlabSupport> = own.iter().map(support).collect();
        let settings = BearSettings::default();
        let in_job: Vec<usize> = own.iter().map(|&at| points[at].0).collect();
        let named = |error| fields::of_piece(error, field, &in_job);
        let laid = LaidSlab::new(&slab, &supports, &[], settings).map_err(named)?;
        let on_it = |(load, _): &(TestLoad, LoadTest)| {
            let [along, across] = load.xy_mm();
            (x[0]..=x[1]).contains(&along) && (y[0]..=y[1]).contains(&across)
        };
        let tested = load.filter(on_it).map(|(load, test)| {
            let acts = [Load::Point { xy_mm: load.xy_mm(), newtons: test.newtons }];
            let laid = LaidSlab::new(&slab, &supports, &acts, settings).map_err(named)?;
            Ok((laid, load.xy_mm(), test))
        });
        Ok(Laid {
            name: self.name.clone(),
            points: own,
            slab: laid,
            least_force_n: self.least_force_n,
            tested: tested.transpose()?,
        })
    }
}

impl Laid {
    /// The slab on its points.
    pub(super) fn on_points(&self) -> OnPoints {
        let Self { points, slab, least_force_n, .. } = self;
        let (laid, points) = (slab.clone(), points.clone());
        OnPoints { laid, points, least_force_n: *least_force_n }
    }

    /// How it bears on the tops of a plan.
    pub(super) fn bear(&self, slab: &LaidSlab, tops: &[Length]) -> Result<Bearing, Error> {
        slab.bear(&self.points.iter().map(|&at| tops[at].mm()).collect::<Vec<_>>())
    }

    /// Places over the piece and the heights of its surface there, mm, `count` along and across: x by
    /// x, and y by y for each.
    pub(super) fn lattice(&self, bearing: &Bearing, count: usize) -> Result<Lattice, Error> {
        let Slab { x_mm, y_mm, .. } = *self.slab.slab();
        let part = |[from, to]: [f64; 2], at: usize| match at + 1 == count {
            true => to,
            false => from + (to - from) * at as f64 / (count - 1) as f64,
        };
        let places = (0..count * count).map(|at| [part(x_mm, at / count), part(y_mm, at % count)]);
        let places: Vec<[f64; 2]> = places.collect();
        let heights = bearing.at(&places)?;
        Ok((places, heights))
    }

    /// What it does on the tops of a plan, how it bears there, with the names of the stage's points. The
    /// covariance is that of all tops of the stage, mm², and `target` the height, mm, that they are brought to.
    pub(super) fn outcome(
        &self,
        bearing: &Bearing,
        tops: &[Length],
        covariance_mm2: Option<&[f64]>,
        target: &dyn Fn([f64; 2]) -> f64,
        names: &[&str],
    ) -> Result<SlateOutcome, Error> {
        const LATTICE: usize = 9;
        let name = |at: usize| names[self.points[at]].to_owned();
        let stress = bearing.stress();
        let test_load = match &self.tested {
            Some((slab, at, test)) if bearing.tips.is_none() => {
                let under = self.bear(slab, tops)?;
                let gives = bearing.at(&[*at])?[0] - under.at(&[*at])?[0];
                Some(TestLoadOutcome {
                    newtons: test.newtons,
                    deflection_mm: known(gives),
                    limit_mm: test.limit_mm,
                    met: gives <= test.limit_mm,
                })
            }
            _ => None,
        };
        let (flatness_mm, surface_mm) = match bearing.tips {
            Some(_) => (None, Vec::new()),
            None => {
                let (places, heights) = self.lattice(bearing, LATTICE)?;
                let plane = fit_plane(&places, &heights, PlaneKind::LeastSquares, None)?;
                // To the nanometre.
                let above = |(place, height): (&[f64; 2], &f64)| {
                    ((height - target(*place)) * 1e6).round() / 1e6
                };
                let above: Vec<f64> = places.iter().zip(&heights).map(above).collect();
                let rows = above.chunks(LATTICE).map(<[f64]>::to_vec);
                (Some(plane.flatness_mm), rows.collect())
            }
        };
        let sigmas = covariance_mm2.and_then(|it| self.sigmas(bearing, tops.len(), it));
        let support = |at: usize| SlateSupportOutcome {
            id: name(at),
            force_n: known(bearing.forces_n[at]),
            force_sigma_n: sigmas.as_ref().map(|sigmas| sigmas[at]),
            carries: bearing.carries[at],
            gap_mm: known(bearing.gaps_mm[at]),
        };
        let loose = |at: &usize| !bearing.carries[*at] && bearing.tips.is_none();
        // One in twenty carries nothing.
        let doubtful = |at: &usize| {
            let pressed = bearing.forces_n[*at] + self.slab.supports()[*at].pull_n;
            bearing.carries[*at] && sigmas.as_ref().is_some_and(|it| pressed < 1.644_854 * it[*at])
        };
        Ok(SlateOutcome {
            piece: self.name.clone(),
            tips_about: bearing.tips.map(|tips| tips.about.map(name)),
            tips_moment_n_mm: bearing.tips.map(|tips| tips.moment_n_mm),
            supports: (0..self.points.len()).map(support).collect(),
            loose: (0..self.points.len()).filter(loose).map(name).collect(),
            may_be_loose: (0..self.points.len()).filter(doubtful).map(name).collect(),
            sag_mm: known(bearing.sag_mm()),
            flatness_mm,
            accuracy_mm: known(bearing.accuracy_mm()),
            stress_mpa: stress.map(|stress| stress.mpa),
            stress_ratio: stress.and_then(|stress| stress.ratio),
            x_mm: self.slab.slab().x_mm,
            y_mm: self.slab.slab().y_mm,
            surface_mm,
            test_load,
        })
    }
}

impl Laid {
    /// The standard uncertainty of each force, N, as long as the same points touch, from the covariance
    /// of all tops of the stage; none where it tips.
    fn sigmas(&self, bearing: &Bearing, count: usize, covariance_mm2: &[f64]) -> Option<Vec<f64>> {
        let by_tops = bearing.by_tops()?;
        let variance = |row: &Vec<f64>| -> f64 {
            let with = |(at, by): (usize, &f64)| -> f64 {
                let row_of = self.points[at] * count;
                let others = self.points.iter().zip(row);
                by * others.map(|(&of, by)| by * covariance_mm2[row_of + of]).sum::<f64>()
            };
            row.iter().enumerate().map(with).sum()
        };
        Some(by_tops.forces.iter().map(|row| variance(row).max(0.0).sqrt()).collect())
    }
}

/// Places over all pieces and the heights of their surfaces there, mm, as the stacks of a plan leave
/// them: no more places than `most`. Nothing where a piece tips, or a point is on none of them.
pub(super) fn surface(
    laid: &[Laid],
    points: usize,
    tops: &[Length],
    most: usize,
) -> Result<Option<Lattice>, Error> {
    const FEWEST: usize = 4;
    const MOST: usize = 12;
    let described: usize = laid.iter().map(|laid| laid.points.len()).sum();
    let each = (most / laid.len().max(1)).isqrt().min(MOST);
    if described < points || each < FEWEST {
        return Ok(None);
    }
    let (mut places, mut heights) = (Vec::new(), Vec::new());
    for laid in laid {
        let (more, higher) = laid.lattice(&laid.bear(&laid.slab, tops)?, each)?;
        places.extend(more);
        heights.extend(higher);
    }
    let lies = heights.iter().all(|height| height.is_finite());
    Ok(lies.then_some((places, heights)))
}

/// A number that is one.
fn known(value: f64) -> Option<f64> {
    Some(value).filter(|value| value.is_finite())
}
