"""Verifies a record.jsonl by the words of docs/records.md, with nothing but the standard library.

    python3 verify_record.py reference/records/form_1.jsonl [expected head]

Independent of the program: it shares no code with it. Its output for form_1.jsonl is kept in form_1.verified.txt.
"""

import hashlib
import json
import re
import sys


def verify(data, expected_head=None):
    if not data.endswith(b"\n"):
        return ["the last line does not end with a line feed"], None, 0
    problems, previous, lines = [], "0" * 64, data[:-1].split(b"\n")
    for number, line in enumerate(lines, 1):
        match = re.fullmatch(rb'(.*),"hash":"([0-9a-f]{64})"\}', line, re.DOTALL)
        if not match:
            problems.append(f"line {number}: does not end with its hash")
            continue
        sealed = hashlib.sha256(match.group(1) + b"}").hexdigest()
        if sealed != match.group(2).decode():
            problems.append(f"line {number}: hash {match.group(2).decode()}, computed {sealed}")
        entry = json.loads(line)
        if entry["n"] != number:
            problems.append(f"line {number}: number {entry['n']}")
        if entry["previous"] != previous:
            problems.append(f"line {number}: previous {entry['previous']}, computed {previous}")
        previous = sealed
    if expected_head and previous != expected_head:
        problems.append(f"head {previous}, expected {expected_head}")
    return problems, previous, len(lines)


if __name__ == "__main__":
    with open(sys.argv[1], "rb") as file:
        found, head, count = verify(file.read(), sys.argv[2] if len(sys.argv) > 2 else None)
    for problem in found:
        print(problem)
    if not found:
        print(f"{count} lines, intact, head {head}")
    sys.exit(1 if found else 0)
