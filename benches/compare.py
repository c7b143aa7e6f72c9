#!/usr/bin/env python3
"""What other solvers make of the plain program, from the same project files.

    pip install highspy ortools
    cargo bench --bench plan -- --sizes 20,60 --seeds 5 --export target/compare
    python3 benches/compare.py target/compare [--limit 60] [--threads 2] [--keep]

The first command writes generated projects, each with its plain program
(tests/support/plain.rs) as plain.json; the second solves every plain.json with
HiGHS (highspy) and with CP-SAT (ortools). CP-SAT takes whole numbers only: every
row, and the objective, is multiplied by the least power of ten that makes its
decimals whole, so nothing is rounded. --keep adds the table to RESULTS.md.
"""

import argparse
import datetime
import importlib.metadata
import json
import math
import os
import pathlib
import statistics
import sys
import time
from decimal import Decimal

MARK = "<!-- newest first -->\n"

# More decimals than this would leave the whole numbers that CP-SAT can hold.
MOST_DECIMALS = 9


def read(path):
    """The program, its numbers as exact decimals."""
    with open(path, encoding="utf-8") as file:
        return json.load(file, parse_float=Decimal)


def with_highs(program, limit, threads):
    """Status, total and bound by HiGHS."""
    import highspy
    import numpy

    lp = highspy.HighsLp()
    variables, rows = program["vars"], program["rows"]
    lp.num_col_, lp.num_row_ = len(variables), len(rows)
    infinity = highspy.kHighsInf
    lp.col_lower_ = numpy.array([float(v[0]) for v in variables])
    lp.col_upper_ = numpy.array([float(v[1]) for v in variables])
    lp.col_cost_ = numpy.array([float(v[3]) for v in variables])
    kinds = highspy.HighsVarType
    lp.integrality_ = [kinds.kInteger if v[2] else kinds.kContinuous for v in variables]
    lp.row_lower_ = numpy.array([-infinity if r[0] is None else float(r[0]) for r in rows])
    lp.row_upper_ = numpy.array([infinity if r[1] is None else float(r[1]) for r in rows])
    sums = [summed(r) for r in rows]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = numpy.cumsum([0] + [len(s) for s in sums])
    lp.a_matrix_.index_ = numpy.array([column for s in sums for column in s])
    lp.a_matrix_.value_ = numpy.array([float(f) for s in sums for f in s.values()])
    solver = highspy.Highs()
    for option, value in [
        ("output_flag", False),
        ("time_limit", float(limit)),
        ("threads", threads),
        ("mip_rel_gap", 0.0),
    ]:
        solver.setOptionValue(option, value)
    solver.passModel(lp)
    solver.run()
    info = solver.getInfo()
    status = solver.getModelStatus()
    states = highspy.HighsModelStatus
    if status in (states.kInfeasible, states.kUnboundedOrInfeasible):
        return "infeasible", None, None
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return "no plan", None, info.mip_dual_bound
    word = "optimal" if status == states.kOptimal else "time limit"
    return word, info.objective_function_value, info.mip_dual_bound


def with_cp_sat(program, limit, threads):
    """Status, total and bound by CP-SAT."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    columns = []
    for place, (least, largest, whole, _) in enumerate(program["vars"]):
        if not whole:
            raise ValueError(f"variable {place} is not whole")
        columns.append(model.new_int_var(int(least), int(largest), ""))
    for row in program["rows"]:
        terms = summed(row)
        sides = [side for side in row[:2] if side is not None]
        scale = whole_scale([*terms.values(), *sides])
        of = cp_model.LinearExpr.weighted_sum(
            [columns[column] for column in terms], [scaled(f, scale) for f in terms.values()]
        )
        # Infinity in CP-SAT is the end of its 64 bits.
        low = cp_model.INT_MIN if row[0] is None else scaled(row[0], scale)
        high = cp_model.INT_MAX if row[1] is None else scaled(row[1], scale)
        model.add_linear_constraint(of, low, high)
    costs = [variable[3] for variable in program["vars"]]
    scale = whole_scale(costs)
    model.minimize(
        cp_model.LinearExpr.weighted_sum(columns, [scaled(cost, scale) for cost in costs])
    )
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = float(limit)
    solver.parameters.num_workers = threads
    status = solver.solve(model)
    bound = solver.best_objective_bound / float(scale)
    if status == cp_model.INFEASIBLE:
        return "infeasible", None, None
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return "no plan", None, bound
    word = "optimal" if status == cp_model.OPTIMAL else "time limit"
    return word, solver.objective_value / float(scale), bound


def summed(row):
    """Factor of each column; one that stands there more than once adds up."""
    terms = {}
    for column, factor in zip(row[2], row[3]):
        terms[column] = terms.get(column, 0) + factor
    return terms


def whole_scale(numbers):
    """The least power of ten that makes all of them whole."""
    decimals = [-Decimal(n).normalize().as_tuple().exponent for n in numbers]
    most = max([0, *decimals])
    if most > MOST_DECIMALS:
        raise ValueError(f"{most} decimals")
    return Decimal(10) ** most


def scaled(number, scale):
    return int(Decimal(number) * scale)


SOLVERS = {
    "HiGHS": ("highspy", with_highs),
    "CP-SAT": ("ortools", with_cp_sat),
}


def measure(paths, limit, threads):
    """One dictionary for each program and solver."""
    for path in paths:
        size, seed = path.parent.name.split("-")
        program = read(path)
        for name, (_, solve) in SOLVERS.items():
            begun = time.monotonic()
            status, total, bound = solve(program, limit, threads)
            run = {
                "size": int(size),
                "seed": int(seed),
                "solver": name,
                "status": status,
                "seconds": time.monotonic() - begun,
                "total": total,
                "bound": bound if bound is not None and math.isfinite(bound) else None,
            }
            print(line(run), file=sys.stderr)
            yield run


def gap(run):
    if run["total"] is None or run["bound"] is None:
        return None
    return max(0.0, (run["total"] - run["bound"]) / run["total"] * 100)


def figure(value, decimals):
    return "–" if value is None else f"{value:.{decimals}f}"


def line(run):
    cells = [
        run["size"],
        run["seed"],
        run["solver"],
        run["status"],
        figure(run["seconds"], 2),
        figure(run["total"], 2),
        figure(run["bound"], 2),
        figure(gap(run), 3),
    ]
    return "| " + " | ".join(map(str, cells)) + " |"


def spread(values):
    """Median (worst) of those that are known."""
    values = [value for value in values if value is not None]
    if not values:
        return "–"
    return f"{statistics.median(values):.2f} ({max(values):.2f})"


def table(runs):
    text = "| circuits | solver | proven | a plan | seconds | gap % |\n"
    text += "| ---: | --- | ---: | ---: | ---: | ---: |\n"
    for size, solver in sorted({(run["size"], run["solver"]) for run in runs}):
        these = [run for run in runs if (run["size"], run["solver"]) == (size, solver)]
        proven = sum(run["status"] == "optimal" for run in these)
        planned = sum(run["total"] is not None for run in these)
        seconds = spread([run["seconds"] for run in these])
        gaps = spread([gap(run) for run in these])
        of = len(these)
        text += f"| {size} | {solver} | {proven} of {of} | {planned} of {of} | {seconds} | {gaps} |\n"
    text += "\n| circuits | seed | solver | status | seconds | total | bound | gap % |\n"
    text += "| ---: | ---: | --- | --- | ---: | ---: | ---: | ---: |\n"
    return text + "".join(line(run) + "\n" for run in runs)


def section(runs, limit, threads):
    versions = [f"{n} {importlib.metadata.version(p)}" for n, (p, _) in SOLVERS.items()]
    return (
        f"## {datetime.date.today()}, the plain program in other solvers, {machine()}\n\n"
        f"{', '.join(versions)}; {limit} s, {threads} threads; median (worst) over the seeds.\n\n"
        f"{table(runs)}"
    )


def machine():
    try:
        info = pathlib.Path("/proc/cpuinfo").read_text(encoding="utf-8")
    except OSError:
        info = ""
    models = [text.split(":")[1].strip() for text in info.splitlines() if text.startswith("model name")]
    return f"{os.cpu_count()} cores of {models[0] if models else 'unknown processor'}"


def keep(text):
    path = pathlib.Path(__file__).with_name("RESULTS.md")
    head, mark, rest = path.read_text(encoding="utf-8").partition(MARK)
    if not mark:
        sys.exit(f"error: no line {MARK!r} in {path}")
    path.write_text(f"{head}{mark}\n{text}{rest}", encoding="utf-8")


def main():
    parser = argparse.ArgumentParser(description="solves plain.json files with other solvers")
    parser.add_argument("folder", type=pathlib.Path)
    parser.add_argument("--limit", type=int, default=60, help="seconds for each")
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--keep", action="store_true", help="add the table to RESULTS.md")
    args = parser.parse_args()
    named = [path for path in args.folder.glob("*-*/plain.json")]
    paths = sorted(named, key=lambda p: [int(n) for n in p.parent.name.split("-")])
    if not paths:
        sys.exit(f"error: no plain.json in {args.folder}; write them with --export")
    text = section(list(measure(paths, args.limit, args.threads)), args.limit, args.threads)
    print(text)
    if args.keep:
        keep(text)


if __name__ == "__main__":
    main()
