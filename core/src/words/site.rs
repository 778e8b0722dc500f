//! What a frame stands on, how flat points lie, and what was read by what.

use super::survey::instrument_name;
use crate::survey::Reading;
use crate::units::Units;

/// The supports that a bare frame stands on.
pub(crate) fn stands_on(names: &[String]) -> String {
    format!("Before any shim the bare frame stands on {}.", names.join(", "))
}

/// How far it floats above others.
pub(crate) fn floats(above: &[(&str, f64)], units: Units) -> String {
    let each = above.iter().map(|(id, mm)| format!("{id} {}", units.figure("", *mm)));
    format!("It floats above {}.", each.collect::<Vec<_>>().join("; "))
}

/// Where it comes down when it is pushed over an edge.
pub(crate) fn rocks([a, b]: &[String; 2], onto: &str, drop_mm: f64, units: Units) -> String {
    let drop = units.figure("", drop_mm);
    format!("Pushed over {a} and {b} it comes down on {onto}, by {drop}.")
}

/// How far apart the two closest planes are that hold all points of a stage.
pub(crate) fn zone(stage: &str, before_mm: f64, after_mm: f64, units: Units) -> String {
    let [before, after] = [before_mm, after_mm].map(|mm| units.figure("", mm));
    format!(
        "Zone of the {stage}: {before} before, {after} by the plan (between the two closest planes that hold all points read)."
    )
}

/// What a reading was read by, and how well one reading of it is known.
pub(crate) fn read_by(reading: &Reading, units: Units) -> String {
    let known = |text: Option<String>| {
        text.map_or_else(|| "no uncertainty stated".to_owned(), |text| format!("±{text}"))
    };
    let of = |mm: Option<f64>| known(mm.map(|mm| units.figure("", mm)));
    let sigma = |sigma: &Option<crate::survey::Mm>| of(sigma.map(|it| it.0));
    match reading {
        Reading::Height { setup: None, sigma: s, .. } => format!("heights typed in, {}", sigma(s)),
        Reading::Height { setup: Some(setup), sigma: s, instrument, .. } => {
            let name = instrument_name(instrument.unwrap_or_default());
            format!("{name}, set-up {setup}, {}", sigma(s))
        }
        Reading::Rise { sigma: s, .. } => format!("rises typed in, {}", sigma(s)),
        Reading::Bubble { level, sigma: s, .. } => {
            let known = known(s.map(|divisions| format!("{divisions} divisions")));
            format!("spirit level {level:?}, {known}")
        }
        Reading::Slope { level, sigma: s, .. } => {
            let known = known(s.as_ref().map(|slope| units.steepness(slope.mm_per_m)));
            format!("digital level {level:?}, {known}")
        }
        Reading::Gap { sigma: s, .. } => format!("straightedge and feelers, {}", sigma(s)),
        Reading::LegGap { sigma: s, .. } => format!("feelers under a leg, {}", sigma(s)),
        Reading::SlateGap { sigma: s, .. } => format!("feelers under a slate, {}", sigma(s)),
    }
}

/// A tape reading by the corners that it runs between: `length from corner 3 to 2, reading 1`. Anything
/// else stays as it is.
pub(crate) fn tape(name: &str) -> String {
    const ENDS: [(&str, &str, [&str; 2]); 3] = [
        ("lengths", "length", ["0 to 1", "3 to 2"]),
        ("widths", "width", ["0 to 3", "1 to 2"]),
        ("diagonals", "diagonal", ["0 to 2", "1 to 3"]),
    ];
    let read = || {
        let (kind, rest) = name.split_once('[')?;
        let (side, reading) = rest.strip_suffix(']')?.split_once("][")?;
        let (_, word, ends) = ENDS.iter().find(|(known, ..)| *known == kind)?;
        let ends = ends.get(side.parse::<usize>().ok()?)?;
        let reading = reading.parse::<usize>().ok()?.checked_add(1)?;
        Some(format!("{word} from corner {ends}, reading {reading}"))
    };
    read().unwrap_or_else(|| name.to_owned())
}

/// What a thing weighs, and how many people lift it.
pub(crate) fn weight(what: &str, kg: f64, people: u32) -> String {
    // 1 lb is 0.45359237 kg exactly.
    format!("{what}: {kg:.0} kg ({:.0} lb), at least {people} people", kg / 0.453_592_37)
}
