//! Lifting: what a slate weighs, what stands on each leg, and how many people a lift takes.

use truebed_core::{LIFT_A_PERSON_KG, Mass, SlateWeight, leg_loads, people};

use crate::pointer;
use crate::status::boundary;

/// The mass of a slate, or of any plate of one thickness, to `*kg`: the area of its outline × thickness ×
/// density. `outline_mm` are its `corners` in plan in their order, x and y in turn. `centre_mm`, x and y,
/// becomes its centre of mass; it may be NULL.
///
/// Heavy slabs are moved by enough trained people with proper lifting gear: show `truebed_cautions`.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for no corners; TRUEBED_BAD_VALUE for corners that are not
/// finite, a thickness or a density that is not above 0; TRUEBED_BAD_GEOMETRY for corners without an area.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_slate_mass(
    outline_mm: *const f64,
    corners: usize,
    thickness_mm: f64,
    density_kg_per_m3: f64,
    kg: *mut f64,
    centre_mm: *mut [f64; 2],
) -> i32 {
    boundary(|| {
        let out = pointer::out(kg, "kg")?;
        // SAFETY: the caller's promise.
        let outline: &[[f64; 2]] =
            unsafe { pointer::array(outline_mm.cast(), corners, "outline_mm") }?;
        let outline = outline.to_vec();
        let mass = SlateWeight { outline, thickness_mm, density_kg_per_m3 }.mass()?;
        // SAFETY: the caller's promise: each valid for writes, or NULL.
        unsafe {
            if !centre_mm.is_null() {
                centre_mm.write(mass.at);
            }
            out.write(mass.kg);
        }
        Ok(())
    })
}

/// What each of `count` legs at `xy_mm` carries of a mass of `kg` whose centre is at `x_mm`, `y_mm`.
///
/// `stands_kg`, as many values, becomes what stands on each leg while the table stands on all: a rigid table
/// on equal springs, which is assumed. `raises_kg`, as many values, becomes the most that it takes to raise
/// each leg: the table then hangs on that leg and on what lies beyond its centre of mass. It is NaN where
/// the centre of mass is not between the legs, and may be NULL.
///
/// Nobody puts a hand or a foot under a raised leg, and a jacked frame is blocked before anyone reaches
/// under it: show `truebed_cautions`.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for no legs; TRUEBED_BAD_VALUE for values that are not
/// finite and a mass below 0.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_leg_loads(
    xy_mm: *const f64,
    count: usize,
    kg: f64,
    x_mm: f64,
    y_mm: f64,
    stands_kg: *mut f64,
    raises_kg: *mut f64,
) -> i32 {
    boundary(|| {
        let out = pointer::out(stands_kg, "stands_kg")?;
        // SAFETY: the caller's promise.
        let xy: &[[f64; 2]] = unsafe { pointer::array(xy_mm.cast(), count, "xy_mm") }?;
        let loads = leg_loads(xy, Mass { kg, at: [x_mm, y_mm] })?;
        for (at, load) in loads.iter().enumerate() {
            // SAFETY: the caller's promise: each valid for writes of `count` numbers, or NULL.
            unsafe {
                out.add(at).write(load.stands_kg);
                if !raises_kg.is_null() {
                    raises_kg.add(at).write(load.raises_kg);
                }
            }
        }
        Ok(())
    })
}

/// How many people a lift of `kg` takes at no more than `kg_a_person` for each, to `*out`; 0 for 23 kg, the
/// load constant of the revised NIOSH lifting equation, 1994 (from memory). That is what a fit person may lift
/// once in a good posture with a good grip, no more. Show `truebed_cautions` beside it.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for numbers that are not finite or below 0.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_people(kg: f64, kg_a_person: f64, out: *mut u32) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        let share = if kg_a_person == 0.0 { LIFT_A_PERSON_KG } else { kg_a_person };
        let people = people(kg, share)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(people) };
        Ok(())
    })
}
