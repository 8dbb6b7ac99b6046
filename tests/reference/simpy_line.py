#!/usr/bin/env python3
"""The core job as a program of SimPy, a general library of discrete events: a process for each server, a Store before each.
Reads a work table of ours and gives every frame's ready instant in ns, to be held against ours, and the time it took.

    framelap simulate tests/reference/core_job.ron --save-work work --save-frames frames.csv
    python simpy_line.py tests/reference/core_job.ron work/frames.csv --against frames.csv

It has no latches, policies or records of slices, so it does less than our engine. Needs simpy, no network."""

import argparse
import csv
import math
import re
import sys
import time

import simpy

TOKEN = re.compile(r'\s*(?:(-?\d[\d_]*(?:\.\d+)?(?:[eE][-+]?\d+)?)|("(?:[^"\\]|\\.)*")|([A-Za-z_]\w*)|([(),:]))')


def scenario(text):
    """A scenario file as nested dictionaries; what has a name and fields becomes {"": name, ...}."""
    text = re.sub(r"//[^\n]*", "", text)
    tokens = TOKEN.findall(text)
    place = 0

    def take():
        nonlocal place
        place += 1
        return tokens[place - 1]

    def value():
        number, string, word, mark = take()
        if number:
            return float(number)
        if string:
            return string[1:-1]
        found = {"": word} if word else {}
        if word and (place == len(tokens) or tokens[place][3] != "("):
            return word
        if word:
            take()
        while tokens[place][3] != ")":
            field = take()[2]
            assert take()[3] == ":", "a field has a name and a value"
            found[field] = value()
            if tokens[place][3] == ",":
                take()
        take()
        return found

    return value()


def rounded(x):
    """Half away from zero, of what is not negative."""
    whole = math.floor(x)
    return whole + (x - whole >= 0.5)


def ns(cell):
    """A cell of milliseconds with six decimals, exactly."""
    whole, _, rest = cell.partition(".")
    return int(whole) * 1_000_000 + int(rest.ljust(6, "0"))


def sums(row, kind, n):
    """Shares added up from left to right, the last sum 1."""
    found = [0.0]
    for i in range(n):
        found.append(found[-1] + float(row[f"{kind}_share_{i}"]))
    found[n] = 1.0
    return found


def costs(job, rows):
    """Whole ns of every frame and slice at every server, by the formulas of the model's page."""
    n = int(job["slices"]["count"])
    encode, link, decode, stream = job["encode"], job["link"], job["decode"], job["stream"]
    overhead = {id(stage): (rounded(stage["frame_overhead_ms"] * 1e6), rounded(stage["slice_overhead_ms"] * 1e6))
                for stage in (encode, decode)}

    def cut(work, shares, stage):
        frame, each = overhead[id(stage)]
        return [(frame if i == 0 else 0) + each + rounded(work * shares[i + 1]) - rounded(work * shares[i])
                for i in range(n)]

    def sent(size, shares):
        found = []
        for i in range(n):
            held = math.floor(size * shares[i + 1]) - math.floor(size * shares[i]) + int(stream["slice_header_bytes"])
            packets = max(1, -(-held // int(link["packet_payload_bytes"])))
            on_the_line = held + packets * link["packet_header_bytes"]
            found.append(rounded(link["unit_overhead_ms"] * 1e6 + on_the_line * 8000 / link["rate_mbps"]))
        return found

    for row in rows:
        by_rows, by_bits = sums(row, "row", n), sums(row, "bit", n)
        yield (ns(row["interval_ms"]), ns(row["simulate_ms"]), ns(row["render_ms"]),
               cut(ns(row["encode_ms"]), by_rows, encode), sent(-(-int(row["bits"]) // 8), by_bits),
               ns(row["link_delay_ms"]) + rounded(link["propagation_us"] * 1e3),
               cut(ns(row["decode_ms"]), by_bits, decode))


def line(frames):
    """Ready instants of all frames."""
    env = simpy.Environment()
    cpu, gpu, encoder, link, wire, decoder = (simpy.Store(env) for _ in range(6))
    ready = [None] * len(frames)

    def host():
        for k, (interval, *_) in enumerate(frames):
            cpu.put(k)
            yield env.timeout(interval)

    def simulate():
        while True:
            k = yield cpu.get()
            yield env.timeout(frames[k][1])
            gpu.put(k)

    def render():
        while True:
            k = yield gpu.get()
            yield env.timeout(frames[k][2])
            for i in range(len(frames[k][3])):
                encoder.put((k, i))

    def encode():
        while True:
            k, i = yield encoder.get()
            yield env.timeout(frames[k][3][i])
            link.put((k, i))

    def send():
        while True:
            k, i = yield link.get()
            yield env.timeout(frames[k][4][i])
            wire.put((k, i, env.now + frames[k][5]))

    def arrive():
        # In order: what is under way less long waits for those before it.
        while True:
            k, i, at = yield wire.get()
            if at > env.now:
                yield env.timeout(at - env.now)
            decoder.put((k, i))

    def decode():
        while True:
            k, i = yield decoder.get()
            yield env.timeout(frames[k][6][i])
            if i + 1 == len(frames[k][6]):
                ready[k] = env.now

    for process in (host, simulate, render, encode, send, arrive, decode):
        env.process(process())
    env.run()
    return ready


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("scenario")
    arguments.add_argument("table", help="frames.csv of a work table")
    arguments.add_argument("--slices", type=int, help="slices of a frame, if other than the scenario's")
    arguments.add_argument("--against", help="our table of frames, to be held against")
    given = arguments.parse_args()
    with open(given.scenario, encoding="utf-8") as file:
        job = scenario(file.read())
    if given.slices:
        job["slices"]["count"] = given.slices
    with open(given.table, encoding="utf-8", newline="") as file:
        frames = list(costs(job, csv.DictReader(file)))
    begun = time.process_time()
    ready = line(frames)
    took = time.process_time() - begun
    n = int(job["slices"]["count"])
    services = len(frames) * (3 * n + 2)
    print(f"simpy {simpy.__version__}: {len(frames)} frames x {n} slices in {took * 1e3:.0f} ms of processor time, "
          f"{took * 1e9 / services:.0f} ns a service", file=sys.stderr)
    if not given.against:
        print("frame,ready_ns")
        print("\n".join(f"{k},{at}" for k, at in enumerate(ready)))
        return 0
    with open(given.against, encoding="utf-8", newline="") as file:
        ours = [int(row["ready_ns"]) for row in csv.DictReader(file)]
    other = [k for k, (a, b) in enumerate(zip(ready, ours)) if a != b]
    print(f"{len(ours) - len(other)} of {len(ready)} ready instants are the same to the nanosecond")
    return 1 if other or len(ours) != len(ready) else 0


if __name__ == "__main__":
    sys.exit(main())
