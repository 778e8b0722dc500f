//! What a job will take before anyone has seen the floor. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{
    EstimateOptions, Figure, FloorClass, FloorModel, KitOptions, Length, Limits, Shim, ShimProblem,
    Support, estimate, kit,
};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let mm = Length::from_mm;
    let floor = FloorModel::of(FloorClass::Din18202Row3);
    let mut legs = Vec::new();
    for (x, y) in [(0.0, 0.0), (2134.0, 0.0), (2134.0, 1016.0), (0.0, 1016.0)] {
        legs.push(Support { x: mm(x)?, y: mm(y)?, height: mm(0.0)? });
    }
    let limits = Limits::overall(mm(0.15)?);
    let mut stock = Vec::new();
    for (thickness, count) in [(3.0, 4), (1.0, 8), (0.2, 12)] {
        stock.push(Shim::new(mm(thickness)?, Some(count)));
    }
    let problem = ShimProblem::new(legs, stock, limits);
    let options = EstimateOptions { jobs: 2000, ..EstimateOptions::default() };
    let found = estimate(&floor, &problem, &options)?;
    let [served, low, high] =
        [found.served, found.interval[0], found.interval[1]].map(|it| 100.0 * it);
    writeln!(out, "the stock serves {served:.0} % of the jobs ({low:.0} to {high:.0} %)")?;
    let [middle, tenth] = [0.5, 0.9].map(|p| found.quantile(Figure::Pieces, p));
    writeln!(out, "pieces: {middle:.0} in the middle, {tenth:.0} in one job of ten")?;

    let options =
        KitOptions { share: 0.9, training_jobs: 300, fresh_jobs: 300, ..KitOptions::default() };
    let kit = kit(&floor, &problem, &options)?;
    writeln!(out, "to serve 90 %: {:?} pieces of 3, 1 and 0.2 mm", kit.counts)?;
    Ok(())
}
