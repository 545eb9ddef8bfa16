#!/usr/bin/env python3
"""Fetch one answer of the fleet, plot it and refit it, with nothing but Python.

    python3 answer.py http://127.0.0.1:8080 ANSWER [--cookie NAME=VALUE] [--out DIR]

Writes ANSWER.json, ANSWER-rows.csv and ANSWER.svg, and prints each attribute's change
as answered beside one that is computed here: weighted least squares within levels, with
standard errors clustered by player. That is a plainer model than the fleet's (players
do not differ in it, traits and curvature are left out, builds have no effects of their
own), so that the two agree in direction and size, not to the last digit.
"""
import argparse
import csv
import io
import json
import math
import os
import sys
import urllib.request


def fetch(base, path, cookie):
    request = urllib.request.Request(base.rstrip("/") + path)
    if cookie:
        request.add_header("Cookie", cookie)
    with urllib.request.urlopen(request, timeout=600) as reply:
        return reply.read().decode("utf-8")


def solve(a, b):
    """Solves a·x = b for several right sides by Gauss-Jordan elimination with pivots."""
    n = len(a)
    m = [row[:] + right[:] for row, right in zip(a, b)]
    for i in range(n):
        p = max(range(i, n), key=lambda r: abs(m[r][i]))
        if abs(m[p][i]) < 1e-12:
            raise ValueError("the columns follow from each other")
        m[i], m[p] = m[p], m[i]
        m[i] = [x / m[i][i] for x in m[i]]
        for r in range(n):
            if r != i and m[r][i]:
                f = m[r][i]
                m[r] = [x - f * y for x, y in zip(m[r], m[i])]
    return [row[n:] for row in m]


def within(rows, columns):
    """Takes the weighted mean of each level out of y and the columns."""
    levels = {}
    for r in rows:
        levels.setdefault((r["player"], r["session"], r["level"]), []).append(r)
    for level in levels.values():
        weight = sum(1 / float(r["v"]) for r in level)
        names = ["y"] + columns
        means = [sum(float(r[c]) / float(r["v"]) for r in level) / weight for c in names]
        for r in level:
            yield r["player"], 1 / float(r["v"]), [float(r[c]) - m for c, m in zip(names, means)]


def refit(rows, columns):
    k = len(columns)
    xx, xy, players, kept = [[0.0] * k for _ in range(k)], [0.0] * k, {}, []
    for player, w, (y, *x) in within(rows, columns):
        kept.append((player, w, y, x))
        for i in range(k):
            xy[i] += w * x[i] * y
            for j in range(k):
                xx[i][j] += w * x[i] * x[j]
    inverse = solve(xx, [[1.0 if i == j else 0.0 for j in range(k)] for i in range(k)])
    beta = [sum(inverse[i][j] * xy[j] for j in range(k)) for i in range(k)]
    for player, w, y, x in kept:
        e = y - sum(b * v for b, v in zip(beta, x))
        score = players.setdefault(player, [0.0] * k)
        for i in range(k):
            score[i] += w * x[i] * e
    n = len(players)
    out = {}
    for i, c in enumerate(columns):
        v = sum(sum(inverse[i][j] * s[j] for j in range(k)) ** 2 for s in players.values()) * n / (n - 1)
        out[c] = (beta[i], math.sqrt(v))
    return out


def picture(lines):
    low = min(0, *(a[1] for _, a, _ in lines), *(b[0] - 1.96 * b[1] for _, _, b in lines))
    high = max(0, *(a[2] for _, a, _ in lines), *(b[0] + 1.96 * b[1] for _, _, b in lines))
    at = lambda v: 220 + 560 * (v - low) / ((high - low) or 1)
    out = ['<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 820 %d" font-family="sans-serif" font-size="14">' % (60 + 44 * len(lines)),
           '<text x="10" y="24">black: as answered; grey: refitted here; bars: 95 %% intervals</text>'.replace("%%", "%"),
           '<line x1="%.1f" x2="%.1f" y1="36" y2="%d" stroke="#999"/>' % (at(0), at(0), 50 + 44 * len(lines))]
    for i, (name, a, b) in enumerate(lines):
        y = 62 + 44 * i
        out.append('<text x="10" y="%d">%s</text>' % (y + 5, name))
        for value, lo, hi, dy, colour in ((a[0], a[1], a[2], 0, "#000"), (b[0], b[0] - 1.96 * b[1], b[0] + 1.96 * b[1], 14, "#888")):
            out.append('<line x1="%.1f" x2="%.1f" y1="%d" y2="%d" stroke="%s" stroke-width="3"/>' % (at(lo), at(hi), y + dy, y + dy, colour))
            out.append('<circle cx="%.1f" cy="%d" r="5" fill="%s"/>' % (at(value), y + dy, colour))
    return "\n".join(out + ["</svg>\n"])


def main():
    p = argparse.ArgumentParser(description="Fetch, plot and refit one answer of the fleet.")
    p.add_argument("base", help="address of the console, as http://127.0.0.1:8080")
    p.add_argument("answer", help="id of the answer, as `fairlead fleet effects --kept` lists it")
    p.add_argument("--cookie", default="", help="what the browser sends after signing in, as NAME=VALUE")
    p.add_argument("--out", default=".", help="folder for the files")
    o = p.parse_args()
    answer = json.loads(fetch(o.base, "/fleet/answers/%s.json" % o.answer, o.cookie))
    text = fetch(o.base, "/fleet/answers/%s.rows.csv" % o.answer, o.cookie)
    rows = list(csv.DictReader(io.StringIO(text)))
    if not rows or not answer.get("effects"):
        sys.exit("the answer did not have enough to say: there is nothing to refit")
    order = [c for c in ("warm_up", "fatigue", "swap") if c in rows[0]]
    main_effects = {e["term"]: e for e in answer["effects"] if e.get("attribute") and not e.get("trait")}
    columns = [c for c in rows[0] if c in main_effects]
    again = refit(rows, columns + [c + "_curve" for c in columns if c + "_curve" in rows[0]] + order)
    lines = []
    for c in columns:
        e = main_effects[c]
        lines.append((c, (e["change"], e["ci_low"], e["ci_high"]), again[c]))
        print("%-14s answered %+.4f (%+.4f to %+.4f)   here %+.4f (se %.4f)" % (c, e["change"], e["ci_low"], e["ci_high"], *again[c]))
    for name, data in ((".json", json.dumps(answer)), ("-rows.csv", text), (".svg", picture(lines))):
        with open(os.path.join(o.out, o.answer + name), "w", encoding="utf-8") as f:
            f.write(data)


main()
