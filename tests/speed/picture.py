"""Line and bar pictures as SVG, written by hand: no library, the same bytes for the same figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, floor, log10

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 720, 420, 70, 210, 40, 50
STROKES = (("#1b4f72", ""), ("#b9770e", "8 4"), ("#196f3d", "2 3"), ("#922b21", "12 3 2 3"), ("#5b2c6f", "4 4"))
Points = Sequence[tuple[float, float]]


def slope(points: Points) -> float | None:
    """The growth exponent: the slope of a straight line through the logarithms, by least squares. None below two."""
    logs = [(log10(x), log10(y)) for x, y in points if x > 0 and y > 0]
    if len({x for x, _ in logs}) < 2:
        return None
    mean_x = sum(x for x, _ in logs) / len(logs)
    mean_y = sum(y for _, y in logs) / len(logs)
    return sum((x - mean_x) * (y - mean_y) for x, y in logs) / sum((x - mean_x) ** 2 for x, _ in logs)


def _text(x: float, y: float, words: str, anchor: str = "middle") -> str:
    safe = words.replace("&", "&amp;").replace("<", "&lt;")
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{safe}</text>'


def _frame(title: str, body: list[str], height: float = HEIGHT) -> str:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:g}" font-family="sans-serif" '
        f'font-size="13"><rect width="{WIDTH}" height="{height:g}" fill="white"/>'
    )
    return "\n".join([head, _text(WIDTH / 2, 22, title), *body, "</svg>"]) + "\n"


def lines(title: str, across: str, up: str, series: Mapping[str, Points]) -> str:
    """Lines over two logarithmic scales; every line has a dash of its own and its name at its right end."""
    every = [point for points in series.values() for point in points]
    low_x, high_x = min(x for x, _ in every), max(x for x, _ in every)
    low_y = floor(log10(min(y for _, y in every)))
    high_y = max(low_y + 1, ceil(log10(max(y for _, y in every))))

    def place(x: float, y: float) -> tuple[float, float]:
        span = log10(high_x / low_x) or 1.0
        return (
            LEFT + (WIDTH - LEFT - RIGHT) * log10(x / low_x) / span,
            HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * (log10(y) - low_y) / (high_y - low_y),
        )

    body = [_text(LEFT + (WIDTH - LEFT - RIGHT) / 2, HEIGHT - 12, across), _text(LEFT, TOP - 4, up)]
    for power in range(low_y, high_y + 1):
        _, y = place(low_x, 10.0**power)
        body.append(f'<path d="M{LEFT} {y:.1f}H{WIDTH - RIGHT}" stroke="#ccc"/>')
        body.append(_text(LEFT - 8, y + 4, f"{10.0**power:g}", "end"))
    for x in sorted({x for x, _ in every}):
        body.append(_text(place(x, 10.0**low_y)[0], HEIGHT - BOTTOM + 18, f"{x:g}"))
    ends: list[float] = []
    for number, (name, points) in enumerate(series.items()):
        colour, dash = STROKES[number % len(STROKES)]
        spots = [place(x, y) for x, y in sorted(points)]
        path = " ".join(f"{'ML'[i > 0]}{x:.1f} {y:.1f}" for i, (x, y) in enumerate(spots))
        body.append(f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="2" stroke-dasharray="{dash}"/>')
        body += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.5" fill="{colour}"/>' for x, y in spots]
        label = spots[-1][1] + 4
        while any(abs(label - other) < 15 for other in ends):
            label += 4
        ends.append(label)
        body.append(_text(max(spots[-1][0], LEFT) + 9, label, name, "start"))
    return _frame(title, body)


def bars(title: str, groups: Mapping[str, Mapping[str, float]]) -> str:
    """Bars side by side, each group on a scale of its own, the figure beside each bar."""
    body, y = [], TOP + 14.0
    for group, values in groups.items():
        body.append(_text(20, y, group, "start"))
        most = max(values.values()) or 1.0
        for number, (name, value) in enumerate(values.items()):
            y += 22
            wide = 330 * value / most
            body.append(_text(176, y, name, "end"))
            body.append(f'<rect x="184" y="{y - 12:.1f}" width="{wide:.1f}" height="15" fill="{STROKES[number][0]}"/>')
            body.append(_text(190 + wide, y, f"{value:.0f}" if value >= 100 else f"{value:.3g}", "start"))
        y += 32
    return _frame(title, body, y)
