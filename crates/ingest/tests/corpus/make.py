#!/usr/bin/env python3
"""Writes the invented logger files of this folder and what must come of each. Needs Python 3.9 (zoneinfo) only."""
import io
import json
import pathlib
import zipfile
from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

HERE = pathlib.Path(__file__).parent
MADRID = "Europe/Madrid"
CHICAGO = "America/Chicago"
written = []


def utc(text, zone, fold=0):
    """ISO text in UTC of a local clock reading."""
    t = datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone), fold=fold)
    return iso(t)


def iso(t):
    return t.astimezone(timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")


def plus(iso_text, seconds):
    t = datetime.strptime(iso_text, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=timezone.utc)
    return iso(t + timedelta(seconds=seconds))


def c(fahrenheit):
    return (fahrenheit - 32.0) * 5.0 / 9.0


def run(start, step_s, values, quality=None):
    """Readings from a start in UTC at a step; None leaves one out. `quality` maps index to a word."""
    out = []
    for i, v in enumerate(values):
        if v is not None:
            out.append([plus(start, i * step_s), v, (quality or {}).get(i, "Valid")])
    return out


def ch(name, role, readings, gaps=None):
    d = {"name": name, "role": role, "readings": readings}
    if gaps is not None:
        d["gaps"] = gaps
    return d


def series(channels, diagnostics=(), **more):
    return {"result": "series", "channels": channels, "diagnostics": sorted(diagnostics), **more}


def asked(*topics, shown=()):
    return {"result": "asked", "topics": sorted(topics), "shown": list(shown)}


def refused(error, line=0):
    return {"result": "refused", "error": error, "line": line}


def case(name, content, expect, note, zone=None, mapping=None, ext="csv", limits=None):
    number = len(written) + 1
    stem = f"{number:02d}_{name}"
    written.append(stem)
    data = content if isinstance(content, bytes) else content.encode("utf-8")
    (HERE / f"{stem}.{ext}").write_bytes(data)
    record = {"note": note, "file": f"{stem}.{ext}", "zone": zone, "mapping": mapping, **expect}
    text = json.dumps(record, indent=1, ensure_ascii=False)
    (HERE / f"{stem}.expect.json").write_text(text + "\n", encoding="utf-8")


AIR, WET, RH, CORE = "air", "wet-bulb", "rh", "core"


def table(head, rows, sep=",", end="\n"):
    return end.join([sep.join(head)] + [sep.join(str(x) for x in r) for r in rows]) + end


T0 = utc("2026-03-13 08:00:00", MADRID)
T0C = utc("2026-03-13 08:00:00", CHICAGO)
AIRS = [60.1, 60.4, 61.0, 61.5]
CORES = [20.5, 21.0, 21.9, 23.1]


def minute(i, form="%Y-%m-%d %H:%M:%S", start="2026-03-13 08:00:00", step=60):
    return (datetime.fromisoformat(start) + timedelta(seconds=i * step)).strftime(form)


def two(start=T0, step=60, air="Air (°C)", core="Core 1 (°C)"):
    return [ch(air, AIR, run(start, step, AIRS)), ch(core, CORE, run(start, step, CORES))]


def comma(v):
    return str(v).replace(".", ",")


PLAIN = table(["Time", "Air (°C)", "Core 1 (°C)"], [[minute(i), a, k] for i, (a, k) in enumerate(zip(AIRS, CORES))])

# ---- encodings
case("plain", PLAIN, series(two()), "ISO dates, commas, UTF-8", MADRID)
case("utf8_mark", b"\xef\xbb\xbf" + PLAIN.encode(), series(two()), "UTF-8 with byte-order mark", MADRID)
case("utf16_le_mark", b"\xff\xfe" + PLAIN.replace(",", "\t").encode("utf-16-le"), series(two()), "UTF-16 LE, tabs", MADRID)
case("utf16_be_mark", b"\xfe\xff" + PLAIN.encode("utf-16-be"), series(two()), "UTF-16 BE", MADRID)
case("utf16_le_bare", PLAIN.encode("utf-16-le"), series(two()), "UTF-16 LE without mark", MADRID)
case("utf16_be_bare", PLAIN.encode("utf-16-be"), series(two()), "UTF-16 BE without mark", MADRID)
GERMAN = table(["Datum", "Luft (°C)", "Kern 1 (°C)"],
               [[minute(i, "%d.%m.%Y %H:%M:%S"), comma(a), comma(k)] for i, (a, k) in enumerate(zip(AIRS, CORES))], ";", "\r\n")
case("western", GERMAN.encode("cp1252"), series(two(air="Luft (°C)", core="Kern 1 (°C)")),
     "Windows-1252, semicolons, decimal commas, CR LF; day 13 shows the order", "Europe/Berlin")
SPANISH = table(["Fecha", "Cámara (°C)", "Bulbo húmedo (°C)", "Humedad (%)"],
                [[minute(i, "%d/%m/%Y %H:%M"), comma(a), comma(50.5), comma(55.0)] for i, a in enumerate(AIRS)], ";")
case("spanish", SPANISH.encode("latin-1"),
     series([ch("Cámara (°C)", AIR, run(T0, 60, AIRS)), ch("Bulbo húmedo (°C)", WET, run(T0, 60, [50.5] * 4)),
             ch("Humedad (%)", RH, run(T0, 60, [0.55] * 4))]), "Latin-1, Spanish headings", MADRID)
case("mojibake_degree", PLAIN.replace("°", "Â°"), series(two(air="Air (Â°C)", core="Core 1 (Â°C)")),
     "degree sign encoded twice", MADRID)
case("lost_degree", PLAIN.replace("°", "\ufffd"), series(two(air="Air (\ufffdC)", core="Core 1 (\ufffdC)")),
     "degree sign lost to U+FFFD", MADRID)
case("carriage_returns", PLAIN.replace("\n", "\r"), series(two()), "line ends of CR alone", MADRID)
case("binary", bytes(range(256)) * 20, refused("NotText"), "no text", MADRID, ext="bin")
case("pdf", b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n", refused("NotText"), "a PDF by mistake", MADRID, ext="bin")
case("web_page", "<!DOCTYPE html><html><body>Log,in\n1,2\n</body></html>\n", refused("NotText"), "a web page by mistake", MADRID, ext="txt")
case("empty", b"", refused("Empty"), "no bytes", MADRID)
case("blank", " \n\n  \n", refused("Empty"), "blank lines only", MADRID)

# ---- delimiters, quotes, decimals
case("tabs", PLAIN.replace(",", "\t"), series(two()), "tabs", MADRID, ext="txt")
case("bars", PLAIN.replace(",", " | "), series(two()), "bars with spaces", MADRID, ext="txt")
case("semicolon_points", PLAIN.replace(",", ";"), series(two()), "semicolons with decimal points", MADRID)
case("quoted_decimal_commas",
     table(['"Time"', '"Air (°C)"', '"Core 1 (°C)"'],
           [[f'"{minute(i)}"', f'"{comma(a)}"', f'"{comma(k)}"'] for i, (a, k) in enumerate(zip(AIRS, CORES))]),
     series(two()), "decimal commas in quotes between commas", MADRID)
case("commas_collide", table(["Time", "Air (°C)", "Core 1 (°C)"],
                             [[minute(i), comma(a), comma(k)] for i, (a, k) in enumerate(zip(AIRS, CORES))]),
     refused("CommasCollide", 2), "decimal commas between commas without quotes", MADRID)
case("thousands_or_decimals", table(["Time", "Tray 1 weight (g)"], [[minute(i), w] for i, w in enumerate(["1,234", "1,231", "1,229"])], ";"),
     asked("DecimalMark", shown=["1234", "1.234"]), "1,234 g can be 1234 g or 1.234 g", MADRID)
case("thousands_answered", table(["Time", "Tray 1 weight (g)"], [[minute(i), w] for i, w in enumerate(["1,234", "1,231", "1,229"])], ";"),
     series([ch("Tray 1 weight (g)", "tray", run(T0, 60, [1.234, 1.231, 1.229]))]), "the same with the answer in the mapping", MADRID,
     'version = 1\n[layout]\ndecimal = "."\n')
case("grouped_thousands", table(["Time", "Tray 1 weight (g)"], [[minute(i), f'"{w}"'] for i, w in enumerate(["1,234.5", "1,231.0", "998.5"])]),
     series([ch("Tray 1 weight (g)", "tray", run(T0, 60, [1.2345, 1.231, 0.9985]))]), "thousands with points", MADRID)
case("stray_quote", PLAIN.replace(minute(1) + ",60.4", '"' + minute(1) + ",60.4"),
     series([ch("Air (°C)", AIR, run(T0, 60, [60.1, None, 61.0, 61.5])), ch("Core 1 (°C)", CORE, run(T0, 60, [20.5, None, 21.9, 23.1]))],
            ["Gap", "NotATableLine"], severity="all-but-choice"), "an opening quote never closed costs one row only", MADRID)
case("doubled_quotes", 'Time,"Note, said ""by hand""",Core 1 (°C)\n' + "".join(f'{minute(i)},"a, ""b"" {i}x",{k}\n' for i, k in enumerate(CORES)),
     series([ch("Core 1 (°C)", CORE, run(T0, 60, CORES))]), "delimiters and doubled quotes inside quotes", MADRID)
case("trailing_delimiters", PLAIN.replace("\n", ",,\n"), series(two()), "empty cells at the end of every line", MADRID)
case("spaces_and_nbsp", table(["Time", "Air (°C)", "Core 1 (°C)"],
                              [[f" {minute(i)} ", f"\u00a0{a} ", f"  {k}\u00a0"] for i, (a, k) in enumerate(zip(AIRS, CORES))]),
     series(two()), "blanks of several kinds about the numbers", MADRID)
case("minus_sign", table(["Time", "Room (°C)"], [[minute(i), v] for i, v in enumerate(["\u22124.5", "\u22124.0", "-3.5"])]),
     series([ch("Room (°C)", "room", run(T0, 60, [-4.5, -4.0, -3.5]))]), "the typographic minus sign", MADRID)

# ---- shape of the table
case("preamble", "Logger: drying room 2\nSerial,4711\nInterval (s),60\nComment,\"first, second\"\n\n" + PLAIN, series(two()),
     "lines before the headings", MADRID)
case("footer", PLAIN + "\nEnd of data\nReadings: 4\n", series(two()), "lines after the table", MADRID)
case("footer_with_values", PLAIN + "Min,60.1,20.5\n", series(two(), ["UnreadableCell"]), "a row of values without a clock is no reading", MADRID)
case("unit_row", table(["Time", "Air", "Core 1"], [["", "°F", "°F"]] + [[minute(i), 140 + i, 70 + i] for i in range(4)]),
     series([ch("Air", AIR, run(T0, 60, [c(140 + i) for i in range(4)])), ch("Core 1", CORE, run(T0, 60, [c(70 + i) for i in range(4)]))]),
     "units in a row of their own", MADRID)
case("pattern_row", table(["Date", "Air", "Core 1"], [["MM/DD/YYYY hh:mm", "degC", "degC"]] + [[minute(i, "%m/%d/%Y %H:%M", "2026-03-04 08:00:00"), a, k] for i, (a, k) in enumerate(zip(AIRS, CORES))]),
     series(two(utc("2026-03-04 08:00:00", MADRID), air="Air", core="Core 1")), "the unit row shows the pattern of the date", MADRID)
NOHEAD = "".join(f"{minute(i)};{a};{k}\n" for i, (a, k) in enumerate(zip(AIRS, CORES)))
case("no_headings", NOHEAD, refused("NoChannel", 1), "no headings at all", MADRID)
case("no_headings_mapped", NOHEAD, series(two(air="Column 2", core="Column 3")), "no headings, columns given by number", MADRID,
     'version = 1\n[[column]]\ncolumn_number = 2\nrole = "air"\nunit = "degC"\n[[column]]\ncolumn_number = 3\nrole = "core"\nnumber = 1\nunit = "degC"\n')
case("headings_again", PLAIN + PLAIN.replace("08:0", "08:1"),
     series([ch("Air (°C)", AIR, run(T0, 60, AIRS + [None] * 6 + AIRS)), ch("Core 1 (°C)", CORE, run(T0, 60, CORES + [None] * 6 + CORES))],
            ["Gap"]), "two exports glued together", MADRID)
case("ragged", PLAIN.replace(f"{minute(1)},60.4,21.0", f"{minute(1)},60.4").replace(f"{minute(2)},61.0,21.9", f"{minute(2)},61,0,21.9,7"),
     series([ch("Air (°C)", AIR, run(T0, 60, [60.1, 60.4, None, 61.5])), ch("Core 1 (°C)", CORE, run(T0, 60, [20.5, None, None, 23.1]))],
            ["RaggedRow", "Gap"]), "a short row keeps its cells, a row with too many is not trusted", MADRID)
case("truncated", PLAIN[:-len(",23.1\n")] [:-1], series([ch("Air (°C)", AIR, run(T0, 60, AIRS[:3])), ch("Core 1 (°C)", CORE, run(T0, 60, CORES[:3]))],
                                                 ["Truncated", "RaggedRow"]), "the file ends within a number", MADRID)
case("blank_lines_and_rule", PLAIN.replace("\n", "\n\n").replace("Core 1 (°C)\n", "Core 1 (°C)\n-----,-----,-----\n"), series(two()),
     "blank lines between rows and a rule under the headings", MADRID)
case("same_heading_twice", table(["Time", "Core (°C)", "Core (°C)"], [[minute(i), a, k] for i, (a, k) in enumerate(zip(AIRS, CORES))]),
     series([ch("Core (°C) (column 2)", CORE, run(T0, 60, AIRS)), ch("Core (°C) (column 3)", CORE, run(T0, 60, CORES))]),
     "one heading for two columns", MADRID)
case("headings_only", "Time,Air (°C),Core 1 (°C)\n", refused("NoTable", 1), "no rows", MADRID)
case("prose", "The dryer ran well today.\nWe took it out at four.\n", refused("NoTable", 1), "a letter", MADRID, ext="txt")
case("newest_first", "\n".join([PLAIN.split("\n")[0]] + PLAIN.strip().split("\n")[:0:-1]) + "\n", series(two()), "newest row first", MADRID)
case("no_clock", table(["Air (°C)", "Core 1 (°C)"], [[61.0, 21.0], [60.0, 20.0], [62.0, 22.5]]), refused("NoClock", 1), "no column holds a clock", MADRID)
case("set_value_left_out", table(["Time", "Air setpoint (°C)", "Air (°C)", "Battery (V)"], [[minute(i), 65, a, 3.1] for i, a in enumerate(AIRS)]),
     series([ch("Air (°C)", AIR, run(T0, 60, AIRS))]), "a set value is no measurement", MADRID)
case("very_long_line", "Time,Air (°C)\n" + minute(0) + ",60.1\n" + "x" * 70000 + "\n" + minute(1) + ",60.2\n", refused("LineTooLong", 3),
     "a line past the limit", MADRID)

# ---- clocks
US = [minute(i, "%m/%d/%Y %I:%M:%S %p", "2026-03-13 11:58:00", 60) for i in range(4)]
case("twelve_hours", table(["Date/Time", "Air (°F)"], [[t, 150 + i] for i, t in enumerate(US)]),
     series([ch("Air (°F)", AIR, run(utc("2026-03-13 11:58:00", CHICAGO), 60, [c(150 + i) for i in range(4)]))]),
     "12-hour clock over noon, month first shown by day 13", CHICAGO)
AMBIGUOUS = table(["Date", "Core 1 (°C)"], [[minute(i, "%d/%m/%Y %H:%M", "2026-03-04 08:00:00"), k] for i, k in enumerate(CORES)])
case("day_or_month", AMBIGUOUS, asked("DateOrder", shown=["2026-04-03", "2026-03-04"]), "04/03/2026 can be read both ways", MADRID)
case("day_or_month_answered", AMBIGUOUS, series([ch("Core 1 (°C)", CORE, run(utc("2026-03-04 08:00:00", MADRID), 60, CORES))]),
     "the same with the answer in the mapping", MADRID, 'version = 1\n[clock]\nform = "day-month-year"\n')
LATE = [minute(i, "%d/%m/%Y %H:%M", "2026-03-04 00:00:00", 120) for i in range(9 * 720 + 30)]
case("day_shown_late", table(["Date", "Air (°C)"], [[t, 60 + i % 7 / 10] for i, t in enumerate(LATE)]),
     series([ch("Air (°C)", AIR, [["count", len(LATE), "Valid"], [utc("2026-03-04 00:00:00", MADRID), 60.0, "Valid"]])]),
     "only the 13th, far below the first part, shows the order", MADRID)
case("contradicting_dates", table(["Date", "Core 1 (°C)"], [["13/03/2026 08:00", 20], ["03/13/2026 08:01", 21], ["14/03/2026 08:02", 22], ["03/15/2026 08:02", 22]]),
     asked("DateOrder", shown=["day-month-year"]), "dates of both orders in one file", MADRID)
APART = table(["Fecha", "Hora", "Núcleo 1 (°C)"], [[minute(i, "%d-%m-%y"), minute(i, "%H:%M:%S"), comma(k)] for i, k in enumerate(CORES)], ";")
case("two_digit_year", APART, asked("DateOrder", shown=["2013-03-26", "2026-03-13"]), "13-03-26 with a year of two digits", MADRID)
case("date_and_time_apart", APART, series([ch("Núcleo 1 (°C)", CORE, run(T0, 60, CORES))]), "date and clock time in two columns, the order given", MADRID,
     'version = 1\n[clock]\nform = "day-month-year"\n')
SPAN_PM = [f"{minute(i, '%d/%m/%Y')} {int(minute(i, '%I', '2026-03-13 11:59:00'))}:{minute(i, '%M:%S', '2026-03-13 11:59:00')} {'a. m.' if i == 0 else 'p. m.'}" for i in range(3)]
case("spanish_half_days", table(["Fecha y hora", "Cámara (°C)"], [[t, a] for t, a in zip(SPAN_PM, AIRS)], ";"),
     series([ch("Cámara (°C)", AIR, run(utc("2026-03-13 11:59:00", MADRID), 60, AIRS[:3]))]), "a. m. and p. m.", MADRID)
case("iso_offset", table(["timestamp", "Air (°C)"], [[minute(i, "%Y-%m-%dT%H:%M:%S+01:00"), a] for i, a in enumerate(AIRS)]),
     series([ch("Air (°C)", AIR, run(T0, 60, AIRS))], zone="UTC"), "offset in every cell, no zone needed")
case("iso_z_fraction", table(["timestamp", "Air (°C)"], [[minute(i, "%Y-%m-%dT%H:%M:%S.250000Z"), a] for i, a in enumerate(AIRS)]),
     series([ch("Air (°C)", AIR, [["2026-03-13T08:00:00.250Z", AIRS[0], "Valid"], ["count", 4, "Valid"]])]), "fractions of a second, Z")
case("unix_seconds", table(["time", "Air (°C)"], [[1773385200 + 60 * i, a] for i, a in enumerate(AIRS)]),
     series([ch("Air (°C)", AIR, run(iso(datetime.fromtimestamp(1773385200, timezone.utc)), 60, AIRS))]), "seconds since 1970")
case("elapsed_start_above", "Start: 2026-03-13 08:00:00\n" + table(["Elapsed (s)", "Air (°C)"], [[60 * i, a] for i, a in enumerate(AIRS)]),
     series([ch("Air (°C)", AIR, run(T0, 60, AIRS))]), "elapsed seconds, the start above the table", MADRID)
case("elapsed_no_start", table(["Time (min)", "Air (°C)"], [[i, a] for i, a in enumerate(AIRS)]), asked("Start"), "elapsed minutes without a start", MADRID)
case("elapsed_no_unit", table(["Elapsed", "Air (°C)"], [[i, a] for i, a in enumerate(AIRS)]), asked("ElapsedUnit", "Start", shown=["3 s", "3 min", "3 h"]),
     "elapsed counts without a unit", MADRID)
case("elapsed_span", table(["Elapsed", "Air (°C)"], [[f"{23 + i}:30:00", a] for i, a in enumerate(AIRS)]),
     series([ch("Air (°C)", AIR, run(plus(T0, 23.5 * 3600), 3600, AIRS))]), "h:mm:ss past 24 h, the start in the mapping", MADRID,
     'version = 1\n[clock]\nstart = "2026-03-13 08:00:00"\n')
NIGHT = [minute(i, "%H:%M", "2026-03-13 23:58:00") for i in range(4)]
case("no_date", table(["Time", "Air (°C)"], [[t, a] for t, a in zip(NIGHT, AIRS)]), asked("FirstDay"), "clock times without a date", MADRID)
case("no_date_over_midnight", table(["Time", "Air (°C)"], [[t, a] for t, a in zip(NIGHT, AIRS)]),
     series([ch("Air (°C)", AIR, run(utc("2026-03-13 23:58:00", MADRID), 60, AIRS))]), "the same with the first day given, over midnight", MADRID,
     'version = 1\n[clock]\nstart = "2026-03-13"\n')
SERIAL = table(["Date", "Air (°C)"], [[round(46094 + (8 * 60 + i) / 1440, 8), a] for i, a in enumerate(AIRS)])
case("serials", SERIAL, asked("SpreadsheetEpoch", shown=["2026-03-13", "2030-03-14"]), "spreadsheet serials in a text", MADRID)
case("serials_1904", table(["Date", "Air (°C)"], [[round(44632 + (8 * 60 + i) / 1440, 8), a] for i, a in enumerate(AIRS)]),
     series([ch("Air (°C)", AIR, run(T0, 60, AIRS))]), "serials of the 1904 count, as the mapping says", MADRID, 'version = 1\n[clock]\nform = "excel1904"\n')
case("zone_in_heading", table(['"Date Time, GMT-05:00"', "Air (°F)"], [[minute(i, "%m/%d/%y %I:%M:%S %p"), 150 + i] for i in range(3)]),
     series([ch("Air (°F)", AIR, run("2026-03-13T13:00:00Z", 60, [c(150 + i) for i in range(3)]))]), "the offset in the heading of the clock")
case("zone_above", "Time zone: America/Chicago\n" + PLAIN, series(two(T0C)), "the zone above the table")
case("zone_missing", PLAIN, asked("Zone"), "no zone anywhere")
FALL = [utc("2026-10-25 01:30:00", MADRID)]
BACK_ROWS = [("2026-10-25 02:30:00", 0), ("2026-10-25 02:45:00", 0), ("2026-10-25 02:00:00", 1), ("2026-10-25 02:15:00", 1),
             ("2026-10-25 02:30:00", 1), ("2026-10-25 02:45:00", 1), ("2026-10-25 03:00:00", 0)]
case("repeated_hour", table(["Time", "Air (°C)"], [["2026-10-25 01:45:00", 60], ["2026-10-25 02:00:00", 60.1], ["2026-10-25 02:15:00", 60.2]] + [[t, 61 + i] for i, (t, _) in enumerate(BACK_ROWS)]),
     series([ch("Air (°C)", AIR, [[utc("2026-10-25 01:45:00", MADRID), 60.0, "Valid"], [utc("2026-10-25 02:00:00", MADRID), 60.1, "Valid"],
                                  [utc("2026-10-25 02:15:00", MADRID), 60.2, "Valid"]] + [[utc(t, MADRID, f), 61.0 + i, "Valid"] for i, (t, f) in enumerate(BACK_ROWS)])],
            ["AmbiguousLocalTime"]), "the clock set back: both passes in order", MADRID)
ONCE = [minute(i, "%Y-%m-%d %H:%M:%S", "2026-10-25 01:45:00", 900) for i in range(7)]
case("repeated_hour_once", table(["Time", "Air (°C)"], [[t, 60 + i] for i, t in enumerate(ONCE)]),
     asked("RepeatedHour", shown=["00:00:00 UTC", "01:00:00 UTC", "+02:00"]), "one pass only: was the clock set back?", MADRID)
case("repeated_hour_kept", table(["Time", "Air (°C)"], [[t, 60 + i] for i, t in enumerate(ONCE)]),
     series([ch("Air (°C)", AIR, run("2026-10-24T23:45:00Z", 900, [60.0 + i for i in range(7)]))]), "answered: the clock stays at +02:00", MADRID,
     'version = 1\n[clock]\nzone = "+02:00"\n')
SKIP = [minute(i, "%Y-%m-%d %H:%M:%S", "2026-03-29 01:30:00", 1800) for i in range(4)]
case("skipped_hour", table(["Time", "Air (°C)"], [[t, 60 + i] for i, t in enumerate(SKIP)]), asked("SkippedHour", shown=["+01:00"]),
     "clock times that the zone skips", MADRID)
case("skipped_hour_left_out", table(["Time", "Air (°C)"], [[t, 60 + i] for i, t in enumerate(SKIP)]),
     series([ch("Air (°C)", AIR, [[utc(SKIP[0], MADRID), 60.0, "Valid"], [utc(SKIP[3], MADRID), 63.0, "Valid"]])], ["NonexistentLocalTime"]),
     "answered: such rows are left out", MADRID, 'version = 1\n[clock]\nskipped = "exclude"\n')
case("abbreviations", table(["Time", "Air (°C)"], [["2026-10-25 02:30:00 CEST", 60.0], ["2026-10-25 02:30:00 CET", 61.0], ["2026-10-25 03:00:00 CET", 62.0]]),
     series([ch("Air (°C)", AIR, [["2026-10-25T00:30:00Z", 60.0, "Valid"], ["2026-10-25T01:30:00Z", 61.0, "Valid"], ["2026-10-25T02:00:00Z", 62.0, "Valid"]])], ["Gap"]),
     "abbreviations of the zone settle the repeated hour", MADRID)
case("named_months", table(["Fecha", "Aire (°C)"], [[f"13-mar-2026 08:0{i}", a] for i, a in enumerate(AIRS)], ";"),
     series([ch("Aire (°C)", AIR, run(T0, 60, AIRS))]), "months by name", MADRID)
case("weekdays", table(["When", "Air (°C)"], [[f'"Fri, 13 Mar 2026 08:0{i}:00"', a] for i, a in enumerate(AIRS)]),
     series([ch("Air (°C)", AIR, run(T0, 60, AIRS))]), "weekday before the date", MADRID)
case("compact", table(["When", "Air (°C)"], [[minute(i, "%Y%m%dT%H%M%S"), a] for i, a in enumerate(AIRS)]),
     series([ch("Air (°C)", AIR, run(T0, 60, AIRS))]), "20260313T080000", MADRID)
NOON = ["11:58", "11:59", "12:00", "12:59", "1:00"]
case("twelve_hours_unmarked", table(["Time", "Air (°C)"], [[f"2026-03-13 {t}", 60 + i] for i, t in enumerate(NOON)]), asked("HalfDay", shown=["before noon", "after noon"]),
     "a 12-hour clock without AM and PM", MADRID)
case("twelve_hours_answered", table(["Time", "Air (°C)"], [[f"2026-03-13 {t}", 60 + i] for i, t in enumerate(NOON)]),
     series([ch("Air (°C)", AIR, [[utc(f"2026-03-13 {t}", MADRID), 60.0 + i, "Valid"] for i, t in enumerate(["11:58:00", "11:59:00", "12:00:00", "12:59:00", "13:00:00"])])], ["Gap"]),
     "answered: begins before noon", MADRID, 'version = 1\n[clock]\nhalf_day = "am"\n')
case("hour_24", table(["Time", "Air (°C)"], [["2026-03-13 23:59:00", 60.0], ["2026-03-13 24:00:00", 61.0], ["2026-03-14 00:01:00", 62.0]]),
     series([ch("Air (°C)", AIR, run(utc("2026-03-13 23:59:00", MADRID), 60, [60.0, 61.0, 62.0]))]), "24:00 is the next day's 0:00", MADRID)
case("spoiled_stamp", PLAIN.replace(minute(1), "2026-03-1? 08:01:00"),
     series([ch("Air (°C)", AIR, run(T0, 60, [60.1, None, 61.0, 61.5])), ch("Core 1 (°C)", CORE, run(T0, 60, [20.5, None, 21.9, 23.1]))], ["Gap", "UnreadableCell"]),
     "one date that cannot be read", MADRID)
case("offset_given", PLAIN, series(two(plus(T0, -90)), ["ClockOffsetApplied"], severity="all-but-choice"), "the clock runs 90 s fast", MADRID,
     'version = 1\n[clock]\noffset_seconds = -90\ndeclared_by = "A. Ruiz"\n')

# ---- units
VAGUE = table(["Time", "Air", "Core 1"], [[minute(i), 71 + i, 60 + i] for i in range(4)])
case("unit_missing", VAGUE, asked("Unit", "Unit", shown=["159.8 degF", "21.7 degC"]), "71 of what?", MADRID)
case("unit_answered", VAGUE, series([ch("Air", AIR, run(T0, 60, [71.0 + i for i in range(4)])), ch("Core 1", CORE, run(T0, 60, [c(60 + i) for i in range(4)]))]),
     "answered for each column", MADRID, 'version = 1\n[[column]]\nheading = "Air"\nunit = "degC"\n[[column]]\nheading = "core 1"\nunit = "degF"\n')
case("unit_conflict", table(["Time", "Air (°C)"], [["", "°F"]] + [[minute(i), 140 + i] for i in range(3)]), asked("Unit", shown=["140 degC", "140 degF"]),
     "heading and unit row disagree", MADRID)
case("unit_above", "Logger 3\nTemperature unit: F\n" + VAGUE, series([ch("Air", AIR, run(T0, 60, [c(71 + i) for i in range(4)])), ch("Core 1", CORE, run(T0, 60, [c(60 + i) for i in range(4)]))]),
     "the unit above the table", MADRID)
case("unit_in_cells", table(["Time", "Air", "RH"], [[minute(i), f"{140 + i} °F", f"{40 + i}%"] for i in range(3)]),
     series([ch("Air", AIR, run(T0, 60, [c(140 + i) for i in range(3)])), ch("RH", RH, run(T0, 60, [0.40 + i / 100 for i in range(3)]))]), "units in every cell", MADRID)
case("units_change", table(["Time", "Core 1"], [[minute(0), "20 °C"], [minute(1), "70 °F"], [minute(2), "22 °C"], [minute(3), "23 bar"]]),
     series([ch("Core 1", CORE, run(T0, 60, [20.0, c(70), 22.0, None]))], ["UnreadableCell"]), "each cell with its own unit", MADRID)
case("humidity_fraction", table(["Time", "RH"], [[minute(i), 0.4 + i / 100] for i in range(3)]), asked("Unit", shown=["40.0 %", "0.4 %"]), "0.4 or 0.4 %?", MADRID)
case("vague_column", table(["Time", "Air (°C)", "CH2 (°C)"], [[minute(i), a, k] for i, (a, k) in enumerate(zip(AIRS, CORES))]),
     asked("Role", shown=["core", "air", "wet-bulb", "ignore"]), "channel 2 of what?", MADRID)
case("mapped_column_missing", PLAIN, refused("Mapping", 1), "the mapping names a column that is not there", MADRID, 'version = 1\n[[column]]\nheading = "Sonda 7"\nrole = "core"\nunit = "degC"\n')
case("weights_and_states", table(["Time", "Tray 8 weight (lb)", "Vent", "Door", "Power (kW)", "Barometer (hPa)"],
                                 [[minute(0), 4.5, "shut", "closed", 3.2, 1013.25], [minute(1), 4.4, "shut", "open", 3.1, 1013.0], [minute(2), 4.3, "open", "closed", 0, 1012.5]]),
     series([ch("Tray 8 weight (lb)", "tray", run(T0, 60, [4.5 * 0.45359237, 4.4 * 0.45359237, 4.3 * 0.45359237])), ch("Vent", "vent", run(T0, 60, [0.0, 0.0, 1.0])),
             ch("Door", "door", run(T0, 60, [0.0, 1.0, 0.0])), ch("Power (kW)", "power", run(T0, 60, [3200.0, 3100.0, 0.0])),
             ch("Barometer (hPa)", "pressure", run(T0, 60, [101325.0, 101300.0, 101250.0]))]), "weights in pounds, states in words", MADRID)

# ---- what is wrong with readings
case("fault_codes", table(["Time", "Core 1 (°C)", "Core 2 (°C)"], [[minute(i), v, w] for i, (v, w) in enumerate([(20, 21), (850, "OPEN"), (-127, "#N/A"), (23, "ERR"), (-9999, 25), (25, 26)])]),
     series([ch("Core 1 (°C)", CORE, run(T0, 60, [20.0, 850.0, -127.0, 23.0, -9999.0, 25.0], {1: "FaultCode", 2: "FaultCode", 4: "FaultCode"})),
             ch("Core 2 (°C)", CORE, run(T0, 60, [21.0, None, None, None, 25.0, 26.0]), gaps=1)], ["FaultCode", "Gap"]), "codes and words for an unplugged probe", MADRID)
case("empty_cells", table(["Time", "Core 1 (°C)", "Core 2 (°C)"], [[minute(i), v, w] for i, (v, w) in enumerate([(20, 21), (21, ""), (22, "---"), (23, "n/a"), (24, 25)])]),
     series([ch("Core 1 (°C)", CORE, run(T0, 60, [20.0, 21.0, 22.0, 23.0, 24.0])), ch("Core 2 (°C)", CORE, run(T0, 60, [21.0, None, None, None, 25.0]), gaps=1)], ["Gap"]),
     "a probe silent for three rows", MADRID)
GAPPED = [minute(i) for i in range(4)] + [minute(i) for i in range(13, 17)]
case("gap", table(["Time", "Air (°C)"], [[t, 60 + i / 10] for i, t in enumerate(GAPPED)]),
     series([ch("Air (°C)", AIR, run(T0, 60, [60.0, 60.1, 60.2, 60.3] + [None] * 9 + [60.4, 60.5, 60.6, 60.7]), gaps=1)], ["Gap"]), "nothing recorded for ten minutes", MADRID)
case("duplicates", table(["Time", "Air (°C)"], [[minute(0), 60], [minute(1), 61], [minute(1), 61], [minute(2), 62], [minute(2), 65], [minute(3), 63]]),
     series([ch("Air (°C)", AIR, run(T0, 60, [60.0, 61.0, 62.0, 63.0], {2: "ConflictingDuplicate"}))], ["Duplicate"]), "one row twice, one instant with two values", MADRID)
case("sent_again", PLAIN + "\n".join(PLAIN.split("\n")[2:]), series(two()), "a block sent twice", MADRID)
case("late_row", table(["Time", "Air (°C)"], [[minute(i), 60 + i] for i in (0, 1, 3, 2, 4, 5)]),
     series([ch("Air (°C)", AIR, run(T0, 60, [60.0 + i for i in range(6)]))], ["Gap", "OutOfOrder"]), "one row late", MADRID)
SET_BACK = [minute(i) for i in range(10)] + [minute(i, "%Y-%m-%d %H:%M:%S", "2026-03-13 08:05:30") for i in range(8)]
case("clock_set_back", table(["Time", "Air (°C)"], [[t, 60 + i / 10] for i, t in enumerate(SET_BACK)]),
     series([ch("Air (°C)", AIR, sorted([[utc(t, MADRID), 60 + i / 10, "ClockJump" if "08:05:30" <= t[11:] <= "08:09:00" else "Valid"] for i, t in enumerate(SET_BACK)]))], ["ClockJump"]),
     "the clock set back by 3.5 minutes in the run", MADRID)
RESET = [minute(i) for i in range(4)] + [f"2000-01-01 00:0{i}:00" for i in range(4)]
case("clock_reset", table(["Time", "Air (°C)"], [[t, 60 + i / 10] for i, t in enumerate(RESET)]),
     series([ch("Air (°C)", AIR, sorted([[utc(t, MADRID), 60 + i / 10, "Valid" if i < 4 else "ClockJump"] for i, t in enumerate(RESET)]))], ["ClockJump"]),
     "a battery gone: the clock begins anew in the year 2000", MADRID)
case("clock_step_given", table(["Time", "Air (°C)"], [[t, 60 + i / 10] for i, t in enumerate(SET_BACK)]),
     series([ch("Air (°C)", AIR, [[utc(t, MADRID), 60 + i / 10, "Valid"] for i, t in enumerate(SET_BACK[:10])] + [[plus(utc(t, MADRID), 270), 61 + i / 10, "Valid"] for i, t in enumerate(SET_BACK[10:])])],
            ["ClockOffsetApplied"], severity="all-but-choice"), "the same change of the clock, given in the mapping", MADRID,
     'version = 1\n[[clock.step]]\nfrom_line = 12\nadd_seconds = 270\n')
COUNTED = [[i + 1, minute(i if i < 5 else i + 60), 60 + i / 10] for i in range(10)]
case("clock_set_forward", table(["No.", "Time", "Air (°C)"], COUNTED),
     series([ch("Air (°C)", AIR, [[utc(t, MADRID), v, "Valid"] for _, t, v in COUNTED], gaps=1)], ["ClockJump"]), "an hour is missing but no record number is", MADRID)
case("counted_gap", table(["No.", "Time", "Air (°C)"], [[i + 1, minute(i), 60 + i / 10] for i in list(range(5)) + list(range(20, 25))]),
     series([ch("Air (°C)", AIR, [[utc(minute(i), MADRID), 60 + i / 10, "Valid"] for i in list(range(5)) + list(range(20, 25))], gaps=1)], ["Gap"]),
     "record numbers are missing with the minutes", MADRID)
case("spike", table(["Time", "Core 1 (°C)"], [[minute(i), v] for i, v in enumerate([20, 20.5, 61.0, 21.2, 21.6])]),
     series([ch("Core 1 (°C)", CORE, run(T0, 60, [20.0, 20.5, 61.0, 21.2, 21.6], {2: "Spike"}))], ["Spike"]), "one reading far off", MADRID)
STUCK = [60.0 + i / 10 for i in range(5)] + [60.5] * 40 + [61.0, 61.5]
case("stuck", table(["Time", "Air (°C)"], [[minute(i), v] for i, v in enumerate(STUCK)]),
     series([ch("Air (°C)", AIR, run(T0, 60, STUCK, {i: "Stuck" for i in range(5, 45)}))], ["Stuck"]), "the same value for 39 minutes", MADRID)
STEADY = [60.0 + i / 10 for i in range(5)] + [60.5] * 20 + [61.0, 61.5]
case("steady_is_not_stuck", table(["Time", "Air (°C)"], [[minute(i), v] for i, v in enumerate(STEADY)]),
     series([ch("Air (°C)", AIR, run(T0, 60, STEADY))]), "the same value for 19 minutes", MADRID)
case("humidity_above_100", table(["Time", "RH (%)"], [[minute(i), v] for i, v in enumerate([96, 98, 101.5, 108, 97])]),
     series([ch("RH (%)", RH, run(T0, 60, [0.96, 0.98, 1.015, 1.08, 0.97], {3: "RelativeHumidityAbove100"}))], ["RelativeHumidityAbove100"]),
     "above 100 %: within tolerance kept, beyond it excluded", MADRID)
PINNED = [90, 95] + [100] * 15 + [96, 92]
case("condensing", table(["Time", "RH (%)"], [[minute(i), v] for i, v in enumerate(PINNED)]),
     series([ch("RH (%)", RH, run(T0, 60, [v / 100 for v in PINNED], {i: "SensorCondensing" for i in range(2, 17)}))], ["SensorCondensing"]), "pinned at 100 %", MADRID)
case("wet_above_dry", table(["Time", "Air (°C)", "Wet bulb (°C)"], [[minute(0), 60, 50], [minute(1), 60, 60.4], [minute(2), 60, 63], [minute(3), 60, 50.5]]),
     series([ch("Air (°C)", AIR, run(T0, 60, [60.0] * 4)), ch("Wet bulb (°C)", WET, run(T0, 60, [50.0, 60.4, 63.0, 50.5], {1: "WetBulbNearAboveDryBulb", 2: "WetBulbAboveDryBulb"}))],
            ["WetBulbAboveDryBulb"]), "wet bulb above dry bulb", MADRID)
SOCK = [(60 + i / 50, 45 + i / 50) for i in range(5)] + [(60.2 + i / 50, 59.8 + i / 50) for i in range(20)] + [(61, 46), (61.1, 46.2)]
case("dry_sock", table(["Time", "Dry bulb (°C)", "Wet bulb (°C)"], [[minute(i), round(d, 2), round(w, 2)] for i, (d, w) in enumerate(SOCK)]),
     series([ch("Dry bulb (°C)", AIR, run(T0, 60, [round(d, 2) for d, _ in SOCK])),
             ch("Wet bulb (°C)", WET, run(T0, 60, [round(w, 2) for _, w in SOCK], {i: "SockPerhapsDry" for i in range(5, 25)}))], ["SockPerhapsDry"]),
     "the wet bulb climbs to the dry bulb", MADRID)
case("steam_vouched", table(["Time", "Dry bulb (°C)", "Wet bulb (°C)", "RH (%)"], [[minute(i), round(d, 2), round(w, 2), 97 if 5 <= i < 25 else 50 + i % 3] for i, (d, w) in enumerate(SOCK)]),
     series([ch("Dry bulb (°C)", AIR, run(T0, 60, [round(d, 2) for d, _ in SOCK])), ch("Wet bulb (°C)", WET, run(T0, 60, [round(w, 2) for _, w in SOCK])),
             ch("RH (%)", RH, run(T0, 60, [0.97 if 5 <= i < 25 else (50 + i % 3) / 100 for i in range(len(SOCK))]))]),
     "the same course, but the humidity sensor says steam: the sock is not blamed", MADRID)
case("instrument_range", table(["Time", "Core 1 (°C)"], [[minute(i), v] for i, v in enumerate([20, -41, 60, 126, 70])]),
     series([ch("Core 1 (°C)", CORE, run(T0, 60, [20.0, -41.0, 60.0, 126.0, 70.0], {1: "OutOfInstrumentRange", 3: "OutOfInstrumentRange"}))], ["OutOfInstrumentRange"]),
     "outside the range of the instrument given in the mapping", MADRID,
     'version = 1\n[[column]]\nheading = "Core 1 (°C)"\nrole = "core"\nnumber = 1\nunit = "degC"\n[column.instrument]\nid = "TH-07"\nlow = "-40 degC"\nhigh = "125 degC"\ntolerance = "0.5 degC"\n')
case("power_on_85", table(["Time", "Core 1 (°C)"], [[minute(i), v] for i, v in enumerate([20, 20.5, 85, 21.2, 21.6])]),
     series([ch("Core 1 (°C)", CORE, run(T0, 60, [20.0, 20.5, 85.0, 21.2, 21.6], {2: "PerhapsFaultCode"}))], ["FaultCode"]), "the 85 degC of a digital sensor just switched on", MADRID)
OUT = [(70, 45, 30 + i / 5) for i in range(5)] + [(70.1 + i / 10, 45, 69.5 + i / 10) for i in range(6)] + [(70, 45, 31.5), (70.2, 45.1, 31.7)]
case("probe_in_air", table(["Time", "Air (°C)", "Wet bulb (°C)", "Core 1 (°C)"], [[minute(i), round(a, 2), w, round(k, 2)] for i, (a, w, k) in enumerate(OUT)]),
     series([ch("Air (°C)", AIR, run(T0, 60, [round(a, 2) for a, _, _ in OUT])), ch("Wet bulb (°C)", WET, run(T0, 60, [float(w) for _, w, _ in OUT])),
             ch("Core 1 (°C)", CORE, run(T0, 60, [round(k, 2) for _, _, k in OUT], {i: "PerhapsNotInProduct" for i in range(5, 11)}))], ["PerhapsNotInProduct"]),
     "a core probe that jumps onto the dry bulb", MADRID)
case("beyond_marks", table(["Time", "Core 1 (°C)"], [[minute(0), 20], [minute(1), "<-40"], [minute(2), ">125"], [minute(3), 21]]),
     series([ch("Core 1 (°C)", CORE, run(T0, 60, [20.0, None, None, 21.0]), gaps=1)], ["UnreadableCell", "Gap"]), "marks for beyond the range", MADRID)
case("negative_weight", table(["Time", "Tray 1 weight (kg)"], [[minute(0), 1.25], [minute(1), -0.01], [minute(2), 1.24]]),
     series([ch("Tray 1 weight (kg)", "tray", run(T0, 60, [1.25, -0.01, 1.24], {1: "PhysicallyImpossible"}))], ["OutOfInstrumentRange"]), "a weight below zero", MADRID)
case("own_code", table(["Time", "Core 1 (°C)"], [[minute(0), 20], [minute(1), "77.7"], [minute(2), "sin lectura"], [minute(3), 21]]),
     series([ch("Core 1 (°C)", CORE, run(T0, 60, [20.0, 77.7, None, 21.0], {1: "FaultCode"}), gaps=1)], ["FaultCode", "Gap"]), "codes of one's own in the mapping", MADRID,
     'version = 1\nunplugged = ["77.7", "sin lectura"]\n')

# ---- JSON lines
case("json_lines", "".join(json.dumps({"ts": minute(i, "%Y-%m-%dT%H:%M:%SZ"), "air_c": a, "core_1_c": k}) + "\n" for i, (a, k) in enumerate(zip(AIRS, CORES))),
     series([ch("air_c", AIR, run("2026-03-13T08:00:00Z", 60, AIRS)), ch("core_1_c", CORE, run("2026-03-13T08:00:00Z", 60, CORES))]), "JSON lines", ext="jsonl")
case("json_nested", "[\n" + ",\n".join(json.dumps({"t": 1773385200000 + 60000 * i, "v": {"air_c": a, "rh %": None if i == 1 else 45}}) for i, a in enumerate(AIRS)) + "\n]\n",
     series([ch("v.air_c", AIR, run(iso(datetime.fromtimestamp(1773385200, timezone.utc)), 60, AIRS)),
             ch("v.rh %", RH, run(iso(datetime.fromtimestamp(1773385200, timezone.utc)), 60, [0.45, None, 0.45, 0.45]), gaps=1)], ["Gap"]),
     "an array with one nested object a line, milliseconds since 1970", ext="jsonl", mapping='version = 1\n[clock]\ncolumns = ["t"]\n')
case("json_broken", '{"ts":"2026-03-13T08:00:00Z","air_c":60}\n{"ts":"2026-03-13T08:01:00Z","air_c":\n{"ts":"2026-03-13T08:02:00Z","air_c":61}\n',
     refused("NotText", 2), "a line that is no JSON", ext="jsonl")

# ---- workbooks


def workbook(sheets, date1904=False):
    """A small XLSX workbook: sheets = [(name, rows)], a cell is text, a number, or ('d', serial)."""
    ns = "http://schemas.openxmlformats.org"
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        def add(name, text):
            z.writestr(zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0)), '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>' + text)
        add("[Content_Types].xml", f'<Types xmlns="{ns}/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            '<Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>'
            '<Override PartName="/xl/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/>'
            + "".join(f'<Override PartName="/xl/worksheets/sheet{i + 1}.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>' for i in range(len(sheets))) + "</Types>")
        add("_rels/.rels", f'<Relationships xmlns="{ns}/package/2006/relationships"><Relationship Id="rId1" Type="{ns}/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>')
        add("xl/workbook.xml", f'<workbook xmlns="{ns}/spreadsheetml/2006/main" xmlns:r="{ns}/officeDocument/2006/relationships"><workbookPr date1904="{int(date1904)}"/><sheets>'
            + "".join(f'<sheet name="{n}" sheetId="{i + 1}" r:id="rId{i + 1}"/>' for i, (n, _) in enumerate(sheets)) + "</sheets></workbook>")
        add("xl/_rels/workbook.xml.rels", f'<Relationships xmlns="{ns}/package/2006/relationships">'
            + "".join(f'<Relationship Id="rId{i + 1}" Type="{ns}/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet{i + 1}.xml"/>' for i in range(len(sheets)))
            + f'<Relationship Id="rId99" Type="{ns}/officeDocument/2006/relationships/styles" Target="styles.xml"/></Relationships>')
        add("xl/styles.xml", f'<styleSheet xmlns="{ns}/spreadsheetml/2006/main"><fonts count="1"><font/></fonts><fills count="1"><fill/></fills><borders count="1"><border/></borders>'
            '<cellStyleXfs count="1"><xf/></cellStyleXfs><cellXfs count="2"><xf numFmtId="0" xfId="0"/><xf numFmtId="22" xfId="0" applyNumberFormat="1"/></cellXfs></styleSheet>')
        for i, (_, rows) in enumerate(sheets):
            body = ""
            for r, row in enumerate(rows):
                cells = ""
                for k, v in enumerate(row):
                    at = f"{chr(65 + k)}{r + 1}"
                    if v is None:
                        continue
                    if isinstance(v, tuple):
                        cells += f'<c r="{at}" s="1"><v>{v[1]!r}</v></c>'
                    elif isinstance(v, str):
                        cells += f'<c r="{at}" t="inlineStr"><is><t>{v}</t></is></c>'
                    else:
                        cells += f'<c r="{at}"><v>{v!r}</v></c>'
                body += f'<row r="{r + 1}">{cells}</row>'
            add(f"xl/worksheets/sheet{i + 1}.xml", f'<worksheet xmlns="{ns}/spreadsheetml/2006/main"><sheetData>{body}</sheetData></worksheet>')
    return out.getvalue()


def serial(i, base):
    return base + (8 * 60 + i) / 1440


BOOK = [["Drying log"], [], ["Time", "Air (°C)", "Core 1 (°C)"]] + [[("d", serial(i, 46094)), a, k] for i, (a, k) in enumerate(zip(AIRS, CORES))]
case("workbook", workbook([("Log", BOOK)]), series(two()), "XLSX, dates counted from 1900, a title above", MADRID, ext="xlsx")
BOOK04 = [["Time", "Air (°C)", "Core 1 (°C)"]] + [[("d", serial(i, 44632)), a, k] for i, (a, k) in enumerate(zip(AIRS, CORES))]
case("workbook_1904", workbook([("Log", BOOK04)], True), series(two()), "XLSX, dates counted from 1904", MADRID, ext="xlsx")
case("workbook_bare_serials", workbook([("Log", [["Date", "Air (°C)"]] + [[serial(i, 46094), a] for i, a in enumerate(AIRS)])]), series([ch("Air (°C)", AIR, run(T0, 60, AIRS))]),
     "XLSX, serials without a date format: the workbook's own count holds", MADRID, ext="xlsx")
case("workbook_two_sheets", workbook([("Log", BOOK), ("Other", BOOK)]), asked("Sheet", shown=["Log", "Other"]), "two filled sheets", MADRID, ext="xlsx")
case("workbook_sheet_given", workbook([("Log", [["nothing"]]), ("Other", BOOK)]), series(two()), "the sheet given in the mapping", MADRID, ext="xlsx", mapping='version = 1\n[layout]\nsheet = "Other"\n')
case("workbook_no_such_sheet", workbook([("Log", BOOK)]), refused("NoSuchSheet"), "a sheet that is not there", MADRID, ext="xlsx", mapping='version = 1\n[layout]\nsheet = "Data"\n')
case("workbook_damaged", workbook([("Log", BOOK)])[:700], refused("Workbook"), "cut off", MADRID, ext="xlsx")

# ---- by hand
HAND = """hand entry 1
# after the second rack
date 2026-03-13
by Ana Ruiz
instrument TH-07 tolerance 0.5 degC calibrated 2026-01-10 due 2027-01-10
08:00 event product-met-heat
08:05 core rear-right 161F with TH-07
08:10 core rear-right 72,5 degC with TH-07
8:15 AM rh 92 %
08:30 tray 8 1.240 kg   # on the bench scale
08:31 vent shut
08:32 vent 25%
09:00 note trays turned
"""
case("by_hand", HAND, series([ch("core 1 rear right (TH-07)", CORE, [[plus(T0, 300), c(161), "Valid"], [plus(T0, 600), 72.5, "Valid"]]),
                              ch("rh", RH, [[plus(T0, 900), 0.92, "Valid"]]), ch("tray 8", "tray", [[plus(T0, 1800), 1.24, "Valid"]]),
                              ch("vent", "vent", [[plus(T0, 1860), 0.0, "Valid"], [plus(T0, 1920), 0.25, "Valid"]])], events=2, provenance="entered"), "the form for readings by hand", MADRID, ext="txt")
case("by_hand_no_unit", HAND.replace("161F", "161"), refused("Hand", 7), "161 of what?", MADRID, ext="txt")
case("by_hand_no_name", HAND.replace("by Ana Ruiz\n", ""), refused("Hand", 5), "nobody's readings", MADRID, ext="txt")
case("by_hand_midnight", "hand entry 1\ndate 2026-03-13\nby A. Ruiz\n23:50 air 150 F\n00:10 air 151 F\n",
     series([ch("air", AIR, [[utc("2026-03-13 23:50:00", MADRID), c(150), "Valid"], [utc("2026-03-14 00:10:00", MADRID), c(151), "Valid"]])], provenance="entered"), "over midnight", MADRID, ext="txt")
case("by_hand_repeated_hour", "hand entry 1\ndate 2026-10-25\nby A. Ruiz\n02:30 air 150 F\n", refused("Hand", 4), "a clock time that exists twice", MADRID, ext="txt")
case("by_hand_no_zone", "hand entry 1\ndate 2026-03-13\nby A. Ruiz\n08:30 air 150 F\n", asked("Zone"), "no zone", ext="txt")
case("by_hand_two_words", "hand entry 1\ndate 2026-03-13\nby A. Ruiz\n08:30 oven 150 F\n", refused("Hand", 4), "an unknown word", MADRID, ext="txt")

for old in HERE.iterdir():
    stem = old.name.split(".")[0]
    if old.name[:2].isdigit() and stem not in written:
        old.unlink()
print(len(written), "cases")
