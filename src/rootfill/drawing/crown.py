"""The crown above one orifice: outer outline, enamel cap and access. All hinted, none measured."""

from __future__ import annotations

from rootfill.drawing.shape import Shape
from rootfill.drawing.svg import Point

NECK_ABOVE_MM = 1.2
"""The neck of the crown is drawn this far above the orifice."""

Line = list[Point]


class Crown:
    """Cusps and fossa of a back tooth, cut along one canal; subclasses draw other crowns."""

    tip = (-0.62, 0.0)
    """The point the canal is measured from, as share of half width and of height."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape
        top = shape.longest
        self.x = shape.middle(top)
        self.floor = shape.y_at(top)
        self.zero = shape.y(0.0)
        self.height = self.floor - self.zero
        self.orifice = shape.half(top)
        self.half = self._half_width(shape.root_half(top))

    def _half_width(self, neck: float) -> float:
        """A little more than the neck, inside the column."""
        room = min(self.x - self.shape.left, self.shape.labels_x - self.x) - 1.0
        return max(min(neck * 1.32, room), neck * 0.95)

    def at(self, across: float, down: float) -> Point:
        """A point by share of half width (-1 to 1) and of the crown's height (0 at the reference)."""
        return self.x + across * self.half, self.zero + down * self.height

    @property
    def edge(self) -> float:
        """Half width of the opening, as a share."""
        return min(0.48, max(self.orifice * 1.25 / self.half, 0.36))

    @property
    def neck_y(self) -> float:
        return self.floor - min(NECK_ABOVE_MM * self.shape.frame.px_per_mm, 0.25 * self.height)

    def side(self, sign: int) -> Line:
        """Outer outline from the root up to the top of the cusp."""
        sides = self.shape.root(0.0, self.shape.longest)
        start = sides[0 if sign < 0 else 1][-1]
        cusp_x, cusp_y = self._cusp(sign)
        shoulder = self.at(sign * 1.0, 0.36)
        low = curve(start, self.at(sign * 0.94, 0.86), self.at(sign * 1.04, 0.6), shoulder)
        high = curve(
            shoulder,
            self.at(sign * 0.96, 0.16),
            (cusp_x + sign * 0.16 * self.half, cusp_y),
            (cusp_x, cusp_y),
        )
        return [start, *low, *high]

    def slope(self, sign: int) -> Line:
        """From the cusp into the fossa, to the edge of the opening."""
        cusp_x, cusp_y = self._cusp(sign)
        soft = (cusp_x - sign * 0.12 * self.half, cusp_y)
        return curve((cusp_x, cusp_y), soft, self.at(sign * (self.edge + 0.05), 0.13), self._lip(sign))

    def cap(self, sign: int) -> Line:
        """Enamel of one side: outline above the neck, slope, and the line inside."""
        outer = [p for p in self.side(sign) if p[1] <= self.neck_y]
        start = self.at(sign * self.edge, self._lip_down(sign) + 0.14)
        inside = curve(start, self.at(sign * 0.56, 0.16), self.at(sign * 0.82, 0.3), outer[0])
        return [*outer, *self.slope(sign), start, *inside]

    @property
    def caps(self) -> list[Line]:
        return [self.cap(-1), self.cap(1)]

    @property
    def access(self) -> tuple[Line, Line]:
        """Left and right wall of the cavity, from the orifice up to the opening."""
        shelf = max(self.edge * 0.9, self.orifice / self.half * 1.1)
        return self._wall(-1, shelf), self._wall(1, shelf)

    def _wall(self, sign: int, shelf: float) -> Line:
        low = (self.x + sign * self.orifice, self.floor)
        knee = self.at(sign * shelf, 0.86)
        return [
            low,
            *curve(low, self.at(sign * shelf * 0.96, 0.96), self.at(sign * shelf, 0.92), knee),
            self._lip(sign),
        ]

    def _lip(self, sign: int) -> Point:
        return self.at(sign * self.edge, self._lip_down(sign))

    def _lip_down(self, sign: int) -> float:
        return 0.17 if sign < 0 else 0.2

    def _cusp(self, sign: int) -> Point:
        return self.at(self.tip[0], 0.0) if sign < 0 else self.at(0.64, 0.055)


class FrontCrown(Crown):
    """An incisor or canine seen from its side: lip side left, access from the tongue side."""

    tip = (-0.16, 0.0)

    def side(self, sign: int) -> Line:
        sides = self.shape.root(0.0, self.shape.longest)
        start = sides[0 if sign < 0 else 1][-1]
        if sign < 0:
            shoulder = self.at(-0.98, 0.62)
            return [
                start,
                *curve(start, self.at(-0.86, 0.92), self.at(-0.96, 0.78), shoulder),
                *curve(shoulder, self.at(-0.98, 0.36), self.at(-0.52, 0.02), self.at(*self.tip)),
            ]
        bulge, hollow = self.at(0.9, 0.72), self.at(0.42, 0.4)
        return [
            start,
            *curve(start, self.at(0.9, 0.92), self.at(0.98, 0.84), bulge),
            *curve(bulge, self.at(0.8, 0.56), self.at(0.56, 0.54), hollow),
            *curve(hollow, self.at(0.28, 0.26), self.at(0.12, 0.04), self.at(0.04, 0.01)),
        ]

    def slope(self, sign: int) -> Line:
        """None: an edge has no fossa."""
        del sign
        return []

    @property
    def caps(self) -> list[Line]:
        left = [p for p in self.side(-1) if p[1] <= self.neck_y]
        right = [p for p in self.side(1) if p[1] <= self.neck_y]
        peak = self.at(-0.1, 0.17)
        up = curve(right[0], self.at(0.42, 0.62), self.at(0.12, 0.36), peak)
        down = curve(peak, self.at(-0.42, 0.26), self.at(-0.78, 0.52), left[0])
        return [[*left, *reversed(right), *up, *down]]

    @property
    def access(self) -> tuple[Line, Line]:
        low, high = (self.x - self.orifice, self.floor), (self.x + self.orifice, self.floor)
        upper, lower = self.at(0.36, 0.335), self.at(0.68, 0.555)
        roof = self.at(-0.1, 0.52)
        left = [low, *curve(low, self.at(-0.2, 0.8), self.at(-0.2, 0.62), roof)]
        left += curve(roof, self.at(0.0, 0.4), self.at(0.16, 0.36), upper)
        return left, [high, *curve(high, self.at(0.26, 0.86), self.at(0.44, 0.7), lower)]


def curve(a: Point, b: Point, c: Point, d: Point, steps: int = 16) -> Line:
    """Points of a cubic curve after ``a``, up to ``d``."""
    found = []
    for i in range(1, steps + 1):
        t = i / steps
        wa, wb, wc, wd = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        found.append(
            (
                wa * a[0] + wb * b[0] + wc * c[0] + wd * d[0],
                wa * a[1] + wb * b[1] + wc * c[1] + wd * d[1],
            )
        )
    return found
