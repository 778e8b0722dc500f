//! Slates on the page: what each bears on its stacks, and the surface between the points.

use crate::job::StageOutcome;
use crate::limits::LimitKind;
use crate::sheet::html::Html;
use crate::sheet::stages::{LimitRow, slate as slate_words};
use crate::units::Units;
use crate::words::bed::{force, forces, state};

/// What each slate does on the stacks: forces, and what is asked of its surface.
pub(super) fn slates(page: &mut Html, stage: &StageOutcome, units: Units) {
    for slate in &stage.slates {
        page.text("p", "soft", &format!("The {} slate on these stacks:", slate.piece));
        page.element("table", "", |table| {
            table
                .row("th", &["point", "bears, N", "bears, lbf", "uncertain by, N", "clear by", ""]);
            for support in &slate.supports {
                let known =
                    |value: Option<f64>| value.map_or_else(String::new, |it| forces(it)[0].clone());
                let [newtons, pounds] = support.force_n.map(forces).unwrap_or_default();
                let clear = support.gap_mm.filter(|&gap| gap > 0.0);
                let clear = clear.map_or_else(String::new, |gap| units.figure("", gap));
                let doubtful = slate.may_be_loose.contains(&support.id);
                let sigma = known(support.force_sigma_n);
                let state = state([support.carries, doubtful]);
                table.row("td", &[&support.id, &newtons, &pounds, &sigma, &clear, state]);
            }
        });
        slate_words(slate, units).iter().for_each(|words| page.text("p", "", words));
    }
    if stage.slates.is_empty() {
        return;
    }
    page.text("p", "soft", "The surface of the slates, between their points too:");
    page.element("table", "", |table| {
        table.row("th", &["of the surface", "found, by the plan", "allowed at the points", ""]);
        surface_rows(stage, units).iter().for_each(|[what, found, allowed, met]| {
            table.row("td", &[what, found, allowed, met]);
        });
    });
}

/// What is asked of the surface between the points, and what is found there.
fn surface_rows(stage: &StageOutcome, units: Units) -> Vec<[String; 4]> {
    let said = |met: bool| (if met { "within" } else { "BEYOND" }).to_owned();
    let mut rows = Vec::new();
    // Limits are asked for at the points; the surface between them is another matter.
    let row = |what: String, sign: &str, found: f64, allowed: Option<f64>| match allowed {
        Some(allowed) => {
            let [shown, most] = units.against(sign, found, allowed);
            [what, shown, most, said(found <= allowed)]
        }
        None => [what, units.figure(sign, found), String::new(), String::new()],
    };
    let allowed = |kind: LimitKind| {
        let row = stage.limits.iter().find(|it| it.limit == kind).map(LimitRow::of);
        row.map(|row| row.allowed_mm)
    };
    // Where a slate is not described, the surface of the bed is that of the points.
    let described: usize = stage.slates.iter().map(|slate| slate.supports.len()).sum();
    if described == stage.heights.len() {
        let overall = allowed(LimitKind::Overall);
        rows.push(row("worst off level".to_owned(), "±", stage.after.worst_mm, overall));
        rows.push(row("flatness".to_owned(), "", stage.after.flatness_mm, None));
    }
    let step = allowed(LimitKind::JointStep);
    for it in &stage.joint_steps {
        let [one, other] = &it.pieces;
        rows.push(row(format!("step along the joint of {one} and {other}"), "", it.step_mm, step));
    }
    for slate in &stage.slates {
        let piece = &slate.piece;
        if let Some(test) = &slate.test_load
            && let Some(gives) = test.deflection_mm
        {
            let what = format!("{piece} slate under {}", force(test.newtons));
            rows.push(row(what, "", gives, Some(test.limit_mm)));
        }
        if let (Some(mpa), Some(ratio)) = (slate.stress_mpa, slate.stress_ratio) {
            let allowed = format!("{:.2} MPa", mpa / ratio);
            let what = format!("{piece} slate, bending stress");
            rows.push([what, format!("{mpa:.2} MPa"), allowed, said(ratio <= 1.0)]);
        }
    }
    rows
}
