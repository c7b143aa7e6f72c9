#!/usr/bin/env python3
"""What several versions of the solver say of the same programs.

    cargo bench --bench programs -- target/programs --project examples/orchard-tractor
    python3 benches/versions.py target/programs 1.14.0 1.15.0 1.16.0 [--limit 20] [--keep]

Each program (tests/solver_programs too) is solved by each version (highspy, in a
folder of its own under target/), with presolve on and off, with one thread and
two. A solution counts if its whole numbers, rounded, hold all rows. An answer is
wrong if a solution that counts shows it: "infeasible" where there is one,
"optimal" above one, values that are no solution, a bound above one. --keep puts
the table into NOTES.md.
"""

import argparse
import collections
import datetime
import gzip
import json
import pathlib
import shutil
import subprocess
import sys
import venv

# As in src/solve/check.rs.
OFF, ROUNDING = 1e-5, 1e-13
MARK = "<!-- versions: newest first -->\n"
WAYS = ("on", "off")
RUNS = [(presolve, threads) for presolve in WAYS for threads in (1, 2)]


def worker(files, limit, threads):
    """Solves each program with presolve and without, and prints what comes of it.
    A process has one number of threads from its first solve on."""
    import highspy

    for file in files:
        for presolve in WAYS:
            solver = highspy.Highs()
            for option, value in [
                ("output_flag", False),
                ("time_limit", float(limit)),
                ("presolve", presolve),
                ("threads", threads),
                ("mip_rel_gap", 0.0),
                ("mip_abs_gap", 1e-6),
            ]:
                solver.setOptionValue(option, value)
            solver.readModel(file)
            solver.run()
            said = answer(highspy, solver)
            print(json.dumps([file, presolve, *said]), flush=True)


def answer(highspy, solver):
    """What is said in a word; the bound; what the solution costs, if it is one."""
    states, status = highspy.HighsModelStatus, solver.getModelStatus()
    info = solver.getInfo()
    if status in (states.kInfeasible, states.kUnboundedOrInfeasible):
        return "infeasible", None, None
    bound = info.mip_dual_bound
    word = {states.kOptimal: "optimal", states.kTimeLimit: "late"}.get(status, "broken")
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return word, bound, None
    cost = checked(highspy, solver.getLp(), list(solver.getSolution().col_value))
    return word, bound, cost


def checked(highspy, lp, values):
    """What rounded values cost; none where they break a row."""
    whole = highspy.HighsVarType.kInteger
    kinds = list(lp.integrality_)
    for place, value in enumerate(values):
        if kinds and kinds[place] == whole:
            values[place] = float(round(value))
    lows, highs = list(lp.col_lower_), list(lp.col_upper_)
    for value, low, high in zip(values, lows, highs):
        off = OFF * max(abs(value), 1)
        if not low - off <= value <= high + off:
            return None
    matrix = lp.a_matrix_
    starts, index, factors = (list(x) for x in (matrix.start_, matrix.index_, matrix.value_))
    sums, sizes = [0.0] * lp.num_row_, [0.0] * lp.num_row_
    by_row = matrix.format_ != highspy.MatrixFormat.kColwise
    for major in range(len(starts) - 1):
        for at in range(starts[major], starts[major + 1]):
            row, column = (major, index[at]) if by_row else (index[at], major)
            part = factors[at] * values[column]
            sums[row] += part
            sizes[row] += abs(part)
    rows = zip(sums, sizes, list(lp.row_lower_), list(lp.row_upper_))
    for total, size, low, high in rows:
        off = OFF + ROUNDING * size
        if not low - off <= total <= high + off:
            return None
    costs = list(lp.col_cost_)
    return lp.offset_ + sum(cost * value for cost, value in zip(costs, values))


def wrong(said, least, room):
    """Why an answer is wrong by a solution that costs the least that is known."""
    word, bound, cost = said
    if word == "broken":
        return "broke off"
    if word == "infeasible":
        return "infeasible" if least is not None else None
    if word == "optimal" and cost is None:
        return "no solution"
    if word == "optimal" and cost > least + room:
        return "not the best"
    if least is not None and bound is not None and bound > least + room:
        return "bound too high"
    return None


def python_of(version, base):
    """An interpreter that has this version."""
    folder = base / f"highspy-{version}"
    python = folder / "bin" / "python"
    if not python.exists():
        venv.create(folder, with_pip=True)
        subprocess.run([python, "-m", "pip", "-q", "install", f"highspy=={version}"], check=True)
    return python


def answers(version, files, args):
    """What a version says of each program in each way; a run that takes the
    process down is told as such."""
    python, said = python_of(version, args.folder.parent), {}
    for threads in (1, 2):
        left = list(files)
        while left:
            words = ["--worker", str(threads), "--limit", str(args.limit), args.folder]
            run = subprocess.run(
                [python, __file__, *words],
                input="\n".join(left),
                stdout=subprocess.PIPE,
                text=True,
                check=False,
            )
            for line in run.stdout.splitlines():
                # Some versions greet.
                if line.startswith("["):
                    file, presolve, *answer = json.loads(line)
                    said[file, presolve, threads] = answer
            left = [file for file in left if (file, WAYS[-1], threads) not in said]
            # The process ended over the first that has no answer.
            for presolve in WAYS if left else ():
                said.setdefault((left[0], presolve, threads), ["broken", None, None])
            left = left[1:]
        print(f"{version}, {threads} threads: {len(files)} programs", file=sys.stderr)
    return said


def least_known(file, every):
    """What the cheapest solution of a program costs, by any version."""
    costs = [said[file, *run][2] for said in every.values() for run in RUNS]
    return min((cost for cost in costs if cost is not None), default=None)


def dearest(file):
    """The largest factor of the objective: whole numbers may be off by a millionth."""
    words = (line.split() for line in open(file, encoding="utf-8"))
    costs = (abs(float(word[2])) for word in words if len(word) == 3 and word[1] == "cost")
    return max(costs, default=0.0)


def table(files, every):
    """Wrong answers by version and way."""
    lines = [
        "| version | presolve | threads | right | late | wrong | how |",
        "| --- | --- | ---: | ---: | ---: | ---: | --- |",
    ]
    known = {file: least_known(file, every) for file in files}
    room = {file: max(2e-6, 2e-6 * dearest(file)) for file in files}
    named = []
    for version, said in every.items():
        for run in RUNS:
            how, late = collections.Counter(), 0
            for file in files:
                answer = said[file, *run]
                why = wrong(answer, known[file], room[file])
                late += answer[0] == "late" and why is None
                if why:
                    how[why] += 1
                    named.append(f"{version} {run[0]} {run[1]}: {pathlib.Path(file).name}: {why}")
            bad = sum(how.values())
            words = ", ".join(f"{why} {count}" for why, count in sorted(how.items()))
            right = len(files) - bad - late
            lines.append(f"| {version} | {run[0]} | {run[1]} | {right} | {late} | {bad} | {words} |")
    return lines, named


def gathered(folder):
    """All programs; those of the tests unpacked beside them."""
    tests = pathlib.Path(__file__).parent.parent / "tests" / "solver_programs"
    for packed in sorted(tests.glob("*.mps.gz")):
        with gzip.open(packed) as source, open(folder / packed.stem, "wb") as target:
            shutil.copyfileobj(source, target)
    return sorted(str(file) for file in folder.glob("*.mps"))


def keep(lines, files, limit):
    """The table into NOTES.md."""
    notes = pathlib.Path(__file__).parent / "NOTES.md"
    text = notes.read_text(encoding="utf-8")
    head = f"\n### {datetime.date.today()}: {len(files)} programs, {limit} s each\n\n"
    notes.write_text(text.replace(MARK, MARK + head + "\n".join(lines) + "\n", 1), encoding="utf-8")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--worker", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--limit", type=float, default=20, help="seconds for each solve")
    parser.add_argument("--keep", action="store_true", help="put the table into NOTES.md")
    parser.add_argument("folder")
    parser.add_argument("versions", nargs="*")
    args = parser.parse_args()
    if args.worker:
        return worker(sys.stdin.read().splitlines(), args.limit, args.worker)
    args.folder = pathlib.Path(args.folder).resolve()
    files = gathered(args.folder)
    every = {version: answers(version, files, args) for version in args.versions}
    lines, named = table(files, every)
    print("\n".join(lines), *named, sep="\n")
    if args.keep:
        keep(lines, files, args.limit)


if __name__ == "__main__":
    main()
