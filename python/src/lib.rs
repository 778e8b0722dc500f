//! Python extension of truebed: what the package `truebed` calls.
//!
//! Arrays arrive as the package makes them, C-contiguous and of float64; everything else arrives
//! as the caller gave it and is read here, so that every refusal is worded in one place.

mod arrow;
mod bed;
mod budget;
mod error;
mod estimate;
mod floor;
mod job;
mod lifting;
mod limits;
mod name;
mod picture;
mod plan;
mod plane;
mod problem;
mod reading;
mod result;
mod roll;
mod shim;
mod signal;
mod site;
mod survey;
mod value;
mod verdict;

use pyo3::prelude::*;
use pyo3::types::PyDict;

/// The compiled half of the package `truebed`.
#[pymodule]
mod _truebed {
    #[pymodule_export]
    use super::arrow::{Columns, arrow_estimate, arrow_plan, arrow_run_jobs};
    #[pymodule_export]
    use super::bed::{BearingShape, Laid, Load, Slab, patch_load, plan_bed, point_load};
    #[pymodule_export]
    use super::budget::Budget;
    #[pymodule_export]
    use super::estimate::{
        EstimateOptions, Floor, Rest, estimate, fit_floor, kit, kit_front, quantile,
        readings_needed,
    };
    #[pymodule_export]
    use super::floor::{check_floor, floor_numbers, highest, local_slopes, straightedge};
    #[pymodule_export]
    use super::job::{job_page, job_picture, job_schema, job_sheet, next_pass, run_job, run_jobs};
    #[pymodule_export]
    use super::lifting::{leg_loads, people, slate_mass};
    #[pymodule_export]
    use super::limits::Limits;
    #[pymodule_export]
    use super::picture::{Picture, tradeoff_picture};
    #[pymodule_export]
    use super::plan::{plan_many, plan_shims, shortfall, tradeoff};
    #[pymodule_export]
    use super::plane::{fit_plane, fit_planes, least_squares, minimum_zone, resting};
    #[pymodule_export]
    use super::problem::{ShimProblem, read_plain};
    #[pymodule_export]
    use super::reading::{
        Reading, level_grid, level_line, reading, reading_from_row, readings_from_csv,
    };
    #[pymodule_export]
    use super::roll::{drift_mm, dying_speed, roll, roll_balls, rolling_acceleration};
    #[pymodule_export]
    use super::shim::Shim;
    #[pymodule_export]
    use super::site::{door_swing, place, room_picture, square, way_in};
    #[pymodule_export]
    use super::survey::{Solution, Survey, adjust, components, survey, union_jack};
    #[pymodule_export]
    use super::value::{lengths, numbers, parse_length, plain, texts};
    #[pymodule_export]
    use super::verdict::{assess_floor, check, global_risks, guard_band, read_next};

    use super::*;

    #[pymodule_init]
    fn init(module: &Bound<'_, PyModule>) -> PyResult<()> {
        module.add("__version__", env!("CARGO_PKG_VERSION"))?;
        let presets = PyDict::new(module.py());
        for (_, name, document) in truebed::Preset::ALL {
            presets.set_item(name, document)?;
        }
        module.add("PRESETS", presets)?;
        module.add("MOST_PROBLEMS", truebed::Problems::MOST)?;
        module.add("CAUTIONS", pyo3::types::PyTuple::new(module.py(), truebed::CAUTIONS)?)
    }
}
