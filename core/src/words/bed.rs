//! What a slate does on its supports.

use crate::units::Units;

/// Newtons to pounds-force (exact: 0.45359237 kg times 9.80665 m/s²).
const N_PER_LBF: f64 = 4.448_221_615_260_5;

/// A force in newtons and pounds-force.
pub(crate) fn force(newtons: f64) -> String {
    let [newtons, pounds] = forces(newtons);
    format!("{newtons} N ({pounds} lbf)")
}

/// A number of newtons, and of pounds-force.
pub(crate) fn forces(newtons: f64) -> [String; 2] {
    // Adding 0 leaves no -0.
    [newtons, newtons / N_PER_LBF].map(|force| format!("{:.0}", force.round() + 0.0))
}

/// How it stands with a point that bears or doesn't.
pub(crate) fn state([carries, doubtful]: [bool; 2]) -> &'static str {
    match (carries, doubtful) {
        (false, _) => "LOOSE",
        (true, true) => "may be loose",
        (true, false) => "carries",
    }
}

/// What one point of a slate bears: a force, N, none where the slate tips; how uncertain it is; and how
/// far the slate clears it, mm.
pub(crate) fn bears(
    [newtons, sigma_n]: [Option<f64>; 2],
    gap_mm: Option<f64>,
    [carries, doubtful]: [bool; 2],
    units: Units,
) -> String {
    let Some(newtons) = newtons else { return "bears nothing: the slate tips".to_owned() };
    if !carries {
        let clear = gap_mm.filter(|&gap| gap > 0.0);
        let clear =
            clear.map_or_else(String::new, |gap| format!(", {} clear", units.figure("", gap)));
        return format!("LOOSE: bears nothing{clear}");
    }
    let sigma = sigma_n.map_or_else(String::new, |sigma| format!(", \u{b1}{sigma:.0} N"));
    let doubt = if doubtful { ": may be loose" } else { "" };
    format!("bears {}{sigma}{doubt}", force(newtons))
}

/// Points that carry nothing.
pub(crate) fn loose(piece: &str, names: &[String]) -> String {
    format!("LOOSE under slate {piece}: {} carry nothing.", names.join(", "))
}

/// Points that carry as computed, but not surely.
pub(crate) fn may_be_loose(piece: &str, names: &[String]) -> String {
    format!(
        "May be loose under slate {piece}: {}. The heights are too uncertain to tell, and the verdict \
         does not count it. Feel there once the slate lies.",
        names.join(", ")
    )
}

/// A slate that falls: over which line, and with what moment, N mm.
pub(crate) fn tips(piece: &str, about: &[String; 2], moment_n_mm: Option<f64>) -> String {
    let moment =
        moment_n_mm.map_or_else(String::new, |moment| format!(", with {:.1} N m", 1e-3 * moment));
    format!(
        "Slate {piece} TIPS OVER the line from {} to {}{moment}, whatever is under it: do not lay it so. \
         It needs a point beyond that line, or a screw that holds it down.",
        about[0], about[1]
    )
}

/// The same as the answer to what plan there is.
pub(crate) fn none_lies(piece: &str, about: &[String; 2]) -> String {
    format!("NO PLAN. Slate {piece} TIPS OVER the line from {} to {}.", about[0], about[1])
}

/// What is proven of a plan on which slates lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Proof {
    /// No plan is better.
    Best,
    /// No plan has fewer pieces.
    Fewest,
    /// No plan has fewer pieces than so many; the search was cut short.
    AtLeast(f64),
    /// It was not searched for the best.
    NotSearched,
}

/// That another plan takes the place of the one for points.
pub(crate) fn instead(of_points: usize, pieces: usize, proof: Proof) -> String {
    let proof = match proof {
        Proof::Best => "No plan with fewer lets every stack carry (proven).".to_owned(),
        Proof::Fewest => "No plan with fewer lets every stack carry (proven). The search was cut short \
                          before it was known whether one with as many is flatter."
            .to_owned(),
        Proof::AtLeast(bound) => format!(
            "The search of all slates together was cut short: no plan with fewer than {bound:.0} lets \
             every stack carry (proven), and one with fewer than {pieces} may exist."
        ),
        Proof::NotSearched => {
            "It was found by bringing the points of a slate closer together; whether there is a better \
             one was not searched."
                .to_owned()
        }
    };
    format!(
        "On the plan for the points alone, of {of_points}, a slate would not lie on all its stacks. This \
         plan, of {pieces}, has every stack carry. {proof}"
    )
}

/// A plan on which slates lie, and that is not proven.
pub(crate) fn not_proven(pieces: usize) -> String {
    let pieces = if pieces == 1 { "1 piece".to_owned() } else { format!("{pieces} pieces") };
    format!("{pieces}. Whether this is the best plan is not proven.")
}

/// That no plan lets every stack carry.
pub(crate) const NONE_CARRIES: &str =
    "No plan from this stock that meets the limits lets every stack carry (proven).";

/// That none was found.
pub(crate) const NONE_FOUND: &str =
    "No plan was found on which every stack carries; one may exist.";

/// How far a slate sags.
pub(crate) fn sags(sag_mm: f64, flatness_mm: f64, units: Units) -> String {
    let [sag, flatness] = [sag_mm, flatness_mm].map(|mm| units.figure("", mm));
    format!("It sags by {sag} between its points; its whole surface is flat within {flatness}.")
}

/// How well the heights of a slate are known.
pub(crate) fn known_within(accuracy_mm: f64, units: Units) -> String {
    let within = units.fine(accuracy_mm);
    format!("A mesh half as fine puts its heights within {within} of these.")
}

/// How a slate's stress stands to what is allowed.
pub(crate) fn stress(mpa: f64, ratio: Option<f64>) -> String {
    let ratio = ratio
        .map_or_else(String::new, |ratio| format!(", {:.0} % of what is allowed", 100.0 * ratio));
    format!("It bends with up to {mpa:.2} MPa{ratio}.")
}

/// A slate that bends too much.
pub(crate) fn overstressed(piece: &str) -> String {
    format!("Slate {piece} bends with MORE than its strength allows.")
}

/// What a test load does.
pub(crate) fn test_load(newtons: f64, mm: f64, limit_mm: f64, units: Units) -> String {
    let met = if mm <= limit_mm { "within" } else { "BEYOND" };
    let [gives, limit] = units.against("", mm, limit_mm);
    format!("Under {} it goes down by {gives}, {met} the limit of {limit}.", force(newtons))
}

/// A slate that gives way too far.
pub(crate) fn gives_too_far(piece: &str) -> String {
    format!("Slate {piece} goes down by MORE than the limit under the test load.")
}

/// The largest step along a joint.
pub(crate) fn step([one, other]: &[String; 2], step_mm: f64, units: Units) -> String {
    let step = units.figure("", step_mm);
    format!("The largest step along the joint of {one} and {other} is {step}.")
}

/// A step that is larger between the points of a joint than at them.
pub(crate) fn step_beyond(
    [one, other]: &[String; 2],
    step_mm: f64,
    allowed_mm: f64,
    units: Units,
) -> String {
    let [step, allowed] = units.against("", step_mm, allowed_mm);
    format!(
        "Between its points the joint of {one} and {other} has a step of {step}, BEYOND the {allowed} \
         that are allowed at them."
    )
}

/// A surface that is further off level between the points than is allowed at them, mm.
pub(crate) fn surface_beyond(worst_mm: f64, allowed_mm: f64, units: Units) -> String {
    let [worst, allowed] = units.against("±", worst_mm, allowed_mm);
    format!(
        "Between and beyond its points the surface is off level by {worst}, BEYOND the {allowed} that \
         are allowed at them."
    )
}

/// What the computation of slates leaves out.
pub(crate) const NOT_MODELLED: &str = "Slates are computed as plates of one thickness: pockets, \
     holes, grain, glue, creep and the bending of the frame are not in it.";
