"""Writes two visits of an invented left-handed driver player of Harbour Row.

Planted between the visits: attack angle from -3.5 to +1.5 degrees and with it
two degrees less dynamic loft; everything else is the same swing. Run
`python3 make_visits.py` in this folder to make both files again.
"""
import random

random.seed(7)
COLUMNS = "speed_mph,attack_deg,path_deg,face_deg,dynamic_loft_deg,strike_x_mm,strike_y_mm,tempo_ratio"


def visit(name, n, attack, loft):
    with open(name, "w") as f:
        print(COLUMNS, file=f)
        for i in range(n):
            path = random.gauss(-3.0, 1.2)  # a left-hander's in-to-out
            tempo = f"{random.gauss(3.0, 0.12):.2f}" if i % 2 else ""
            print(f"{random.gauss(94, 1.2):.1f},{random.gauss(attack, 0.9):.1f},{path:.1f},"
                  f"{path + random.gauss(1.8, 1.4):.1f},{random.gauss(loft, 1.0):.1f},"
                  f"{random.gauss(4, 7):.1f},{random.gauss(-2, 5):.1f},{tempo}", file=f)


visit("spring.csv", 14, -3.5, 15.0)
visit("next_spring.csv", 16, 1.5, 13.0)
