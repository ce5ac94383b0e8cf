#!/usr/bin/env python3
"""Compares what the program learns from actual minutes, and promises, with numpy and scipy.

    learn_scipy.py ORACLE [--cases 300] [--plans 25] [--seed 1]

ORACLE is the path of the built `oracle` program.

1. One step. The prior and the likelihood of the unknown mean are multiplied on a fine grid and normalised, and the
   predictive distribution of the next job is integrated over it numerically: nothing of the closed formulas is used
   but the spread, which is put in (see the domain's module `learning`). The mean, the median and the 80 % quantile
   must agree, and the spread must be that of the imagined and the real jobs together, by numpy.
2. A worked example: prior mean 45 with deviation 10, observations 60 and 66 with deviation 12 give the mean 55.465116
   (normal prior, normal likelihood of known variance; figures by hand, checked with scipy). Shifted to mean 0 and
   scaled to logarithms, with a strength of (12 / 10)^2 = 1.44 jobs.
3. Sums. Steps are drawn from their lognormal distributions 200,000 times by numpy, added up, and the median and the
   quantiles of the sums compared with the lognormal of Fenton and Wilkinson. It is an approximation: for spreads as
   wide as a studio's (below 0.6) it must be within 3 % of the simulated value from the median up to 90 %.

Prints how many agree and how many do not, and ends with 1 if one does not.
"""

import argparse
import json
import math
import subprocess
import sys

import numpy
from scipy import integrate, optimize, stats


def ask(oracle, kind, cases):
    asked = "".join(json.dumps(case) + "\n" for case in cases)
    run = subprocess.run([oracle, kind], input=asked, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    if len(answers) != len(cases):
        sys.exit(f"{len(cases)} cases went in and {len(answers)} answers came out")
    return answers


def learned(ratios):
    """The logarithms of those that are no outliers."""
    return numpy.array([math.log(ratio) for ratio in map(float, ratios) if 0.25 <= ratio <= 4])


def spread(strength, usual, logs):
    """Deviation of the imagined jobs (mean 0, deviation `usual`) and the real ones about the mean of all."""
    everyone = numpy.concatenate([logs, [0.0]])
    weights = numpy.concatenate([numpy.ones(len(logs)), [strength]])
    mean = numpy.average(everyone, weights=weights)
    within = numpy.concatenate([numpy.zeros(len(logs)), [usual**2]])
    return math.sqrt(numpy.average((everyone - mean) ** 2 + within, weights=weights))


def believed(strength, usual, ratios):
    """Mean of the unknown mean, and median and 80 % quantile of the next job, all by numerical integration."""
    logs = learned(ratios)
    sigma = spread(strength, usual, logs)
    grid = numpy.linspace(-6, 6, 24_001)
    log_density = stats.norm.logpdf(grid, 0, sigma / math.sqrt(strength))
    for log in logs:
        log_density = log_density + stats.norm.logpdf(log, grid, sigma)
    density = numpy.exp(log_density - log_density.max())
    density /= integrate.simpson(density, x=grid)
    mean = integrate.simpson(density * grid, x=grid)

    def surplus(log, share):
        """How much more than that share of the next jobs is below."""
        return integrate.simpson(density * stats.norm.cdf(log, grid, sigma), x=grid) - share

    median, promised = (optimize.brentq(surplus, -5, 5, args=(share,)) for share in (0.5, 0.8))
    return mean, math.exp(median), math.exp(promised), len(logs)


def one_step(dice):
    count = int(dice.choice([0, 1, 2, 5, 8, 20]))
    centre, width = dice.uniform(-0.5, 0.5), dice.uniform(0.05, 0.5)
    ratios = numpy.exp(dice.normal(centre, width, count))
    wild = dice.random(count)
    ratios = numpy.where(wild < 0.05, ratios * 9, numpy.where(wild > 0.95, ratios / 9, ratios))
    case = {"prior_strength": str(dice.choice(["1", "2.5", "5", "12"])), "ratios": [f"{ratio:.4f}" for ratio in ratios]}
    if dice.random() < 0.5:
        case["prior_spread"] = f"{dice.uniform(0.1, 0.4):.2f}"
    return case


def check_steps(oracle, dice, count):
    cases = [one_step(dice) for _ in range(count)]
    cases += [{"prior_strength": "5", "ratios": ["4", "0.25", "4.0001", "0.2499", "0"]}]
    for case, answer in zip(cases, ask(oracle, "learn", cases)):
        expected = believed(float(case["prior_strength"]), float(case.get("prior_spread", "0.25")), case["ratios"])
        mean, median, promised, jobs = expected
        fine = (
            answer.get("learned_from") == jobs
            and abs(float(answer["mean_log"]) - mean) < 1e-6
            and abs(float(answer["median_factor"]) / median - 1) < 1e-6
            and abs(float(answer["p80_factor"]) / promised - 1) < 1e-6
        )
        yield fine, case, answer, expected


def check_worked_example(oracle):
    ratios = [math.exp((observed - 45) / 100) for observed in (60, 66)]
    case = {"prior_strength": "1.44", "ratios": [f"{ratio:.12f}" for ratio in ratios]}
    answer = ask(oracle, "learn", [case])[0]
    expected = 55.465116
    yield abs(45 + 100 * float(answer["mean_log"]) - expected) < 1e-5, case, answer, expected


def check_refusals(oracle):
    cases = [
        {"prior_strength": "0", "ratios": []},
        {"prior_strength": "5", "ratios": ["-1"]},
        {"prior_strength": "5", "ratios": ["one"]},
        {"prior_strength": "5", "prior_spread": "0", "ratios": []},
        {"prior_strength": "5", "ratios": [], "colour": "red"},
    ]
    for case, answer in zip(cases, ask(oracle, "learn", cases)):
        yield "error" in answer, case, answer, "an error"


def one_plan(dice, percent):
    steps = []
    for _ in range(int(dice.integers(1, 13))):
        count = int(dice.choice([0, 3, 10, 25]))
        ratios = numpy.exp(dice.normal(dice.uniform(-0.3, 0.4), dice.uniform(0.05, 0.4), count))
        steps.append({"minutes": int(dice.integers(10, 600)), "ratios": [f"{ratio:.4f}" for ratio in ratios]})
    return {"prior_strength": "5", "percent": percent, "steps": steps}


def drawn(dice, plan, times):
    """That many totals of a plan."""
    strength, totals = float(plan["prior_strength"]), numpy.zeros(times)
    for step in plan["steps"]:
        logs = learned(step["ratios"])
        mean = logs.sum() / (strength + len(logs))
        deviation = spread(strength, 0.25, logs) * math.sqrt(1 + 1 / (strength + len(logs)))
        totals += step["minutes"] * numpy.exp(dice.normal(mean, deviation, times))
    return totals


def check_sums(oracle, dice, count):
    plans = [one_plan(dice, percent) for _ in range(count) for percent in (50, 80, 90)]
    for plan, answer in zip(plans, ask(oracle, "outlook", plans)):
        totals = drawn(dice, plan, 200_000)
        expected = numpy.quantile(totals, [0.5, plan["percent"] / 100])
        got = [answer["median"], answer["promised"]]
        # Whole minutes are up to one off by themselves.
        fine = all(abs(mine - theirs) <= 1 + 0.03 * theirs for mine, theirs in zip(got, expected))
        yield fine, plan, answer, expected.tolist()


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("oracle", help="path of the built oracle program")
    parser.add_argument("--cases", type=int, default=300)
    parser.add_argument("--plans", type=int, default=25)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    dice = numpy.random.default_rng(arguments.seed)
    checks = [
        ("steps", check_steps(arguments.oracle, dice, arguments.cases)),
        ("worked example", check_worked_example(arguments.oracle)),
        ("refusals", check_refusals(arguments.oracle)),
        ("sums", check_sums(arguments.oracle, dice, arguments.plans)),
    ]
    passed = failed = 0
    for name, results in checks:
        for fine, case, answer, expected in results:
            if fine:
                passed += 1
                continue
            failed += 1
            if failed <= 3:
                print(name, json.dumps(case), "\n  answered:", answer, "\n  expected:", expected, file=sys.stderr)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
