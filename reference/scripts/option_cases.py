"""Random gappy runs and an independent, brute-force answer for the humidity options.

Every rule is worked out anew here: the end instant is looked for second by second, what is shown and what is possible
(missing minutes granted) are summed separately, and the answer is met / not_met / cannot_be_judged. Readings are one a
minute; '.' is a missing reading. Beef, 6.5 log10, table read from fsis2021_time_temperature.csv.
Writes reference/safety/option_cases.csv. Run: python reference/scripts/option_cases.py
"""
import csv
import pathlib
import random

HERE = pathlib.Path(__file__).resolve().parent.parent / "safety"
MINUTES = 150
TABLE = sorted(
    (float(r["temp_F"]), float(r["time_s"]))
    for r in csv.DictReader(open(HERE / "fsis2021_time_temperature.csv"))
    if r["table_id"] == "T2-6.5"
)
# option: (kind, share, floor, coldest row, its dwell, least cook, cook below, throughout)
OPTIONS = {
    "1": ("steam", 0.5, 60, 145, 0, 60, None, False),
    "3": ("rh", 0.25, 60, 0, 0, 60, None, False),
    "4": ("rh", 1.0, 0, 0, 0, 0, None, True),
    "J-A": ("steam", 0.5, 60, 145, 240, 60, None, False),
    "J-C": ("rh", 0.25, 60, 0, 0, 60, None, False),
    "J-D": ("rh", None, 60, 145, 240, 60, None, False),
    "J-E": ("rh", 1.0, 0, 0, 0, 0, 60, True),
}
EPS = 1e-9


def intervals(values):
    """(from minute, to minute, left, right); left None means unknown."""
    at = [i for i, v in enumerate(values) if v is not None]
    out, last = [], 0
    for a, b in zip(at, at[1:]):
        if a > last:
            out.append((last, a, None, None))
        out.append((a, b, values[a], values[b]) if b - a == 1 else (a, b, None, None))
        last = b
    if not at:
        return [(0, MINUTES, None, None)]
    if at[0] > 0 and (not out or out[0][0] > 0):
        out.insert(0, (0, at[0], None, None))
    if at[-1] < MINUTES:
        out.append((at[-1], MINUTES, None, None))
    return out


def flags(values, yes):
    """Per second: 1 shown humid, 0 shown not, None unknown."""
    out = []
    for a, b, l, r in intervals(values):
        f = None if l is None else (1 if yes(l) and yes(r) else 0)
        out += [f] * ((b - a) * 60)
    return out


def cumulative(flag, wanted):
    out = [0]
    for f in flag:
        out.append(out[-1] + (1 if f in wanted else 0))
    return out


def row_times(core, tol, coldest, dwell):
    """First second at which a row is satisfied: shown, possible."""
    iv = intervals(core)
    shown_at = possible_at = None
    for row, need in TABLE:
        if row < coldest:
            continue
        if row == coldest:
            need = max(need, dwell)
        if need == 0:
            for a, b, l, r in iv:
                if l is None:
                    possible_at = min(possible_at if possible_at is not None else 10**9, a * 60)
                elif min(l, r) - tol >= row - EPS:
                    shown_at = min(shown_at if shown_at is not None else 10**9, b * 60)
                    possible_at = min(possible_at if possible_at is not None else 10**9, b * 60)
            continue
        s = p = 0
        for a, b, l, r in iv:
            for sec in range(a * 60, b * 60):
                ok = l is not None and min(l, r) - tol >= row - EPS
                if l is None or ok:
                    p += 1
                    if p >= need and (possible_at is None or sec + 1 < possible_at):
                        possible_at = sec + 1
                if ok:
                    s += 1
                    if s >= need and (shown_at is None or sec + 1 < shown_at):
                        shown_at = sec + 1
    return shown_at, possible_at


def come_up(core, tol, earlier):
    """Seconds in 50-130 degF up to each minute: least, most."""
    least, most = [earlier * 60.0], [earlier * 60.0]
    low, high = 50.0 - tol, 130.0 + tol
    for a, b, l, r in intervals(core):
        for _ in range(a, b):
            if l is None:
                least.append(least[-1])
                most.append(most[-1] + 60)
                continue
            lo, hi = min(l, r), max(l, r)
            inside = max(0.0, min(hi, high) - max(lo, low))
            share = 1.0 if hi == lo and low < lo < high else (inside / (hi - lo) if hi > lo else 0.0)
            least.append(least[-1] + 60 * share)
            most.append(most[-1] + (60 if lo < high and hi > low else 0))
    return least, most


def line(points, t):
    i = int(t // 60)
    return points[i] if i == t / 60 else points[i] + (points[i + 1] - points[i]) * (t / 60 - i)


def judge(name, core, tol, rh, steam, earlier, drying, dry_step):
    kind, share, floor, coldest, dwell, least, below, through = OPTIONS[name]
    if dry_step > 30 and name in ("1", "J-A", "J-E"):
        return "not_met"
    if name == "J-A":
        least += dry_step
    flag = flags(steam, lambda v: v == 1) if kind == "steam" else flags(rh, lambda v: v >= 90)
    if name == "J-E":
        flag = [1] * (dry_step * 60) + flag[dry_step * 60 :]
    humid = {"shown": cumulative(flag, (1,)), "possible": cumulative(flag, (1, None))}
    start = dict(zip(("shown", "possible"), row_times(core, tol, coldest, dwell)))
    k = dict(zip(("possible", "shown"), come_up(core, tol, earlier)))

    def holds(t, side):
        cook, h = t / 60, humid[side][t] / 60
        if cook < least - EPS or (below is not None and cook >= below):
            return False
        if line(k[side], t) > 360 * 60 + 1e-5:
            return False
        if through:
            return h >= cook - EPS
        if name == "J-D":
            if side == "shown":
                need = 60 if cook <= 120 else max(0.5 * cook, 60)
            else:
                need = max(0.25 * cook, 60)
        else:
            need = max(share * cook, floor)
        return h >= need - EPS

    def first(side):
        if start[side] is None:
            return None
        return next((t for t in range(start[side], MINUTES * 60 + 1) if holds(t, side)), None)

    shown = first("shown")
    if shown is not None and (drying is None or shown <= drying * 60):
        return "met"
    if shown is not None or first("possible") is not None:
        return "cannot_be_judged"
    return "not_met"


def gappy(rng, values, share):
    return [None if rng.random() < share else v for v in values]


def text(values):
    return " ".join("." if v is None else f"{v:g}" for v in values)


def main():
    rng = random.Random(20240301)
    names = list(OPTIONS)
    with open(HERE / "option_cases.csv", "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow("case tolerance_F earlier_min drying_min dry_step_min core_F rh_pct steam".split() + names + ["kind", "basis"])
        for case in range(140):
            rise = rng.choice((2, 10, 30, 80, 120, 140))
            level = rng.choice((126, 132, 139, 143, 145, 146, 148, 152, 158.5, 160))
            core = []
            for m in range(MINUTES + 1):
                base = 70 + (level - 70) * min(1.0, m / rise)
                core.append(round(base + rng.choice((0, 0, 0.5, -0.5, 1, -2)), 1))
            if rng.random() < 0.3:
                cut = rng.randrange(20, MINUTES)
                core = core[:cut] + [round(c - 40, 1) for c in core[cut:]]
            lo, hi = sorted((rng.randrange(0, MINUTES), rng.randrange(0, MINUTES + 1)))
            wet_all = rng.random() < 0.25
            rh = [93 if wet_all or lo <= m <= hi else 71 for m in range(MINUTES + 1)]
            on = rng.randrange(30, MINUTES)
            steam = [1 if m % 40 < rng.choice((25, 30)) and m < on else 0 for m in range(MINUTES + 1)]
            if rng.random() < 0.5:
                steam = [1 if lo <= m <= hi else 0 for m in range(MINUTES + 1)]
            g = rng.choice((0, 0, 0.02, 0.1, 0.3))
            core, rh, steam = (gappy(rng, v, g * rng.choice((0, 1, 1))) for v in (core, rh, steam))
            tol = rng.choice((0, 0.5, 1))
            earlier = rng.choice((0, 0, 0, 250, 300, 340))
            drying = rng.choice((None, None, 60, 90, 125))
            dry_step = rng.choice((0, 0, 10, 30, 35))
            answers = [judge(n, core, tol, rh, steam, earlier, drying, dry_step) for n in names]
            w.writerow(
                [case, tol, earlier, "" if drying is None else drying, dry_step, text(core), text(rh), text(steam)]
                + answers + ["INVENTED", "COMPUTED"]
            )


main()
