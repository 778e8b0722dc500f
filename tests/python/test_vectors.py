"""The job vectors that every language runs, and the two doors to the solver side by side."""

import json
from pathlib import Path

import numpy as np
import pytest

import truebed

VECTORS = Path(__file__).parents[1] / "vectors"
GOOD = sorted(VECTORS.glob("good/*.job.json"))
BAD = sorted(VECTORS.glob("bad/*.job"))


def done(job):
    return job.with_name(job.name.replace(".job.json", ".done.json"))


@pytest.mark.parametrize("job", GOOD, ids=lambda job: job.name)
def test_good_job(job):
    expected = done(job).read_bytes()
    assert truebed.run_job(job.read_bytes()) == expected
    assert truebed.run_job(job.read_text("utf-8")) == expected.decode()
    assert truebed.run_job(json.loads(job.read_bytes())) == json.loads(expected)


@pytest.mark.parametrize("job", BAD, ids=lambda job: job.name)
def test_bad_job(job):
    code, text = job.with_suffix(".error").read_text("utf-8").split("\n", 1)
    with pytest.raises(truebed.InputError) as caught:
        truebed.run_job(job.read_bytes())
    assert caught.value.code == int(code)
    assert str(caught.value) == text.rstrip("\n")


def covariance(document, ids):
    """Of the heights that the readings of a job tell."""
    settings = document.get("survey", {})
    heights = truebed.adjust(
        [truebed.Reading(json.dumps(reading)) for reading in document["readings"]],
        points={point["id"]: (point["x"], point["y"]) for point in document["points"]},
        levels={level["name"]: level["zero_sigma"] for level in settings.get("levels", [])},
        without=settings.get("without", []),
    )
    order = [heights.ids.index(id) for id in ids]
    return heights.covariance[np.ix_(order, order)]


@pytest.mark.parametrize("job", GOOD, ids=lambda job: job.name)
def test_the_job_and_the_call_give_the_same(job):
    document = json.loads(done(job).read_bytes())
    stock = [
        shim | shim.pop("adjusts", {}) | {"price": shim.get("price", 0)}
        for shim in document["stock"]
    ]
    for name in ["legs", "slates"]:
        # Slates that are described are planned as plates, not as points.
        # A job that is estimated and not read has no outcome of a stage.
        if name not in document or name not in document["outcome"] or document[name].get("pieces"):
            continue
        outcome = document["outcome"][name]
        options = document[name].get("options", {})
        points = [point for point in document["points"] if (point["role"] == "leg") == (name == "legs")]
        index = {point["id"]: at for at, point in enumerate(points)}
        xy = [[point["x"], point["y"]] for point in points]
        heights = [point["height_mm"] for point in outcome["heights"]]
        limits = document[name]["limits"]
        if "preset" in document[name]:
            asked = truebed.Limits.preset(document[name]["preset"])
            for limit in ["overall", "along", "across", "joint_step"]:
                limits.setdefault(limit, getattr(asked, limit))
        for way in ["along", "across"]:
            limits[f"slope_{way}"] = limits.pop(f"slope_{way}_um_per_m", 0) / 1e3
        named = document[name].get("named_limits", [])
        limits["named"] = [([index[id] for id in it["points"]], it["within"]) for it in named]
        # A preset's step at joints asks for nothing where there are none.
        if not document[name].get("joints") and "preset" in document[name]:
            limits.pop("joint_step", None)
        limits = truebed.Limits(**limits)
        only = {
            it["shim"]: [index[id] for id in it["points"]]
            for it in document[name].get("only_under", [])
        }
        placed = None
        if "placed" in document[name]:
            stacks = {it["id"]: it["shims"] for it in document[name]["placed"]}
            placed = [stacks.get(point["id"], []) for point in points]
        joints = [(index[a], index[b]) for a, b in document[name].get("joints", [])]
        arguments = dict(
            xy=xy,
            heights=heights,
            stock=[truebed.Shim(**shim, under=only.get(at)) for at, shim in enumerate(stock)],
            limits=limits,
            keep_highest=options.get("keep_highest", True),
            max_pieces=options.get("max_pieces"),
            max_stack=options.get("max_stack"),
            joints=joints,
            budget=truebed.Budget(**options.get("budget", {})),
            placed=placed,
            stock_is=document.get("stock_is"),
        )
        if "risk" in options:
            arguments["risk"] = options["risk"]
            arguments["risk_of"] = options.get("risk_of", "each")
            arguments["covariance"] = covariance(document, [point["id"] for point in points])
        plan = truebed.plan_shims(**arguments, order=options.get("order", "fewest-pieces"))
        whole = outcome["plan"]
        if plan.status == "infeasible":
            plan = truebed.shortfall(**arguments).flattest
        assert (plan.status, plan.pieces, plan.bound) == (
            whole["status"],
            whole["pieces"],
            whole["bound"],
        )
        assert (plan.target_mm, plan.nodes) == (whole["target_mm"], whole["nodes"])
        assert plan.lifted == [index[point] for point in whole["lifted"]]
        assert plan.moved == whole["moved"]
        slopes = [whole["slope_along_mm_per_m"], whole["slope_across_mm_per_m"]]
        assert plan.slopes_mm_per_m == slopes
        assert plan.unreachable == [index[point] for point in whole["unreachable"]]
        for stack in outcome["stacks"]:
            at = index[stack["id"]]
            assert plan.stacks[at] == [truebed.parse_length(shim) for shim in stack["shims"]]
            assert plan.lifts_mm[at] == stack["lift_mm"]
            assert plan.tops_mm[at] == stack["top_mm"]
        # A plan that is not to be worked by takes nothing from the van.
        taken = plan.used if plan.meets_limits else [0] * len(plan.used)
        assert taken == [kind["used"] for kind in outcome["stock"]]
        for surface, z in [("before", heights), ("after", plan.tops_mm)]:
            plane = truebed.fit_plane(xy, z)
            assert plane.slope_x * 1e3 == outcome[surface]["slope_along_mm_per_m"]
            assert plane.slope_y * 1e3 == outcome[surface]["slope_across_mm_per_m"]
            assert plane.flatness_mm == outcome[surface]["flatness_mm"]
        # Where the points make no line, the call refuses what a job cannot tell.
        if "floor" in document[name] and outcome["floor"]["findings"]:
            known = covariance(document, [point["id"] for point in points])
            floor = truebed.assess_floor(xy, heights, document[name]["floor"], covariance=known)
            told = outcome["floor"]
            sure = {"met": True, "not-met": False, "cannot-tell": None}
            assert floor.met is sure[told["conformity"]]
            assert [it.found for it in floor.findings] == [it["found"] for it in told["findings"]]
        # The ball rolls on the slates where the job says what they are.
        ball = document[name].get("ball", document[name].get("play"))
        if ball is not None and "pieces" not in document[name]:
            rolled = truebed.roll_balls(xy, plan.tops_mm, **ball)
            assert rolled.to_dict() == outcome["ball"]
        assert plan.meets_limits == outcome["met"]
        verdict = truebed.check(plan.tops_mm, limits, joints=joints, xy=xy)
        assert verdict.met == outcome["met"]
        if any(slopes):
            continue
        assert plan.worst_mm == outcome["after"]["worst_mm"]
        for finding, told in zip(verdict.findings, outcome["limits"], strict=True):
            assert finding.points == [index[point] for point in told.pop("points")]
            assert (finding.limit, finding.found_mm) == (told["limit"], told["found_mm"])
            assert (finding.allowed_mm, finding.met) == (told["allowed_mm"], told["met"])
            assert finding.margin_mm == told["margin_mm"]
        for shim, kind in zip(stock, outcome["stock"]):
            if shim.get("count") is not None:
                shim["count"] = kind["left"]
    plates = document["outcome"].get("plates", [])
    for asked, told in zip(document.get("plates", []), plates, strict=True):
        plate = truebed.union_jack(**asked["lines"], unit=asked["unit"], step=asked["step"])
        for name, line in told["lines_mm"].items():
            assert getattr(plate, name).tolist() == line
        assert plate.closures_mm == tuple(told["closures_mm"][name] for name in ["e_w", "n_s"])
        assert plate.flatness_mm == told["flatness_mm"]
