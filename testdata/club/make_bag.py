"""Writes the invented bag that the gapping tests and examples read."""
import random

random.seed(20)
# club, loft deg, swing, mean carry m, sd m, landing deg, spin rpm, shots
BAG = [
    ("driver", 10.5, "full", 214.0, 8.0, 37.0, 2700, 12),
    ("3w", 15.0, "full", 198.0, 7.0, 40.0, 3500, 10),
    ("5w", 18.0, "full", 186.0, 5.5, 44.5, 4300, 10),
    ("4h", 23.0, "full", 152.0, 5.0, 43.8, 4400, 10),
    ("5i", 26.0, "full", 142.5, 4.5, 40.2, 4300, 12),
    ("6i", 29.5, "full", 132.0, 4.0, 45.6, 5200, 12),
    ("7i", 33.0, "full", 121.0, 4.0, 47.5, 6100, 12),
    ("8i", 36.0, "full", 118.0, 3.5, 48.6, 6800, 12),
    ("9i", 41.0, "full", 107.0, 3.5, 49.8, 7700, 10),
    ("pw", 45.0, "full", 96.5, 3.0, 50.6, 8400, 10),
    ("gw", 50.0, "full", 84.0, 3.0, 51.5, 9000, 10),
    ("sw", 55.0, "full", 73.0, 3.0, 52.2, 9500, 10),
    ("sw", 55.0, "three-quarter", 58.0, 3.0, 50.0, 8600, 8),
    ("sw", 55.0, "half", 39.0, 3.0, 47.0, 7000, 8),
    ("lw", 60.0, "full", 61.0, 3.0, 54.0, 9800, 3),
]
print("club,swing,loft_deg,carry_m,landing_deg,spin_rpm")
for club, loft, swing, mean, sd, landing, spin, n in BAG:
    for _ in range(n):
        print(f"{club},{swing},{loft},{random.gauss(mean, sd):.1f},"
              f"{random.gauss(landing, 1.6):.1f},{random.gauss(spin, 0.07 * spin):.0f}")
