"""Swing weight, balance and inertia of three invented clubs, in trade units.

Each part is a point at its balance, the shaft a rod as well; in inches and
ounces, as a 14-inch scale is read: D0 is 213.5 in.oz, a point 1.75 in.oz.
"""
OZ = 28.349523125
CLUBS = {  # name: length in, head g, shaft g, shaft length in, balance share, grip g, grip centre in
    "driver": (45.0, 200, 65, 44.0, 0.50, 50, 4.0),
    "7i": (37.0, 270, 115, 36.0, 0.49, 50, 4.0),
    "wedge": (35.5, 300, 120, 34.5, 0.50, 48, 3.8),
}
for name, (length, head, shaft, cut, share, grip, centre) in CLUBS.items():
    parts = [(head, length), (shaft, share * cut), (grip, centre)]
    grams = sum(m for m, _ in parts)
    balance = sum(m * x for m, x in parts) / grams
    inoz = grams / OZ * (balance - 14)
    points = (inoz - 213.5) / 1.75 + 30
    gin2 = sum(m * x * x for m, x in parts) + shaft * cut * cut / 12
    print(name, f"{grams:.4f} {balance:.6f} {inoz:.6f} {points:.6f} {gin2 * 2.54**2:.4f}")
