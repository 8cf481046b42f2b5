"""The one place where numbers become text."""

NOT_KNOWN = "unknown"


def figure(value: float | None, digits: int = 4) -> str:
    """Return a number with at most `digits` significant figures, without exponent or trailing zeros."""
    if value is None:
        return NOT_KNOWN
    decimals = digits - len(str(int(abs(value)))) if abs(value) >= 1 else digits - 1
    text = f"{value:.{max(decimals, 0)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def signed(value: float | None, unit: str = "") -> str:
    """Return a margin with its sign, so that +7 K and -7 K cannot be mistaken."""
    if value is None:
        return NOT_KNOWN
    text = figure(value)
    return f"{'' if text.startswith('-') else '+'}{text}{f' {unit}' if unit else ''}"


def points(value: float | None) -> str:
    """Return a difference of scores, one decimal, with its sign."""
    return NOT_KNOWN if value is None else f"{value:+.1f}"


def spread(value: float | None, low: float | None, high: float | None) -> str:
    """Return a value with its interval: `217 (216 to 217)`, `217`, `60 to 143` or `unknown`."""
    if low is None or high is None:
        return NOT_KNOWN
    ends = figure(low) if figure(low) == figure(high) else f"{figure(low)} to {figure(high)}"
    if value is None:
        return ends
    return figure(value) if ends == figure(value) else f"{figure(value)} ({ends})"


def levels(level: str, best: str, worst: str) -> str:
    """Return an ordered level with its ends: `moderate (good to moderate)`, or the level alone."""
    return level if best == worst == level else f"{level} ({best} to {worst})"


def plain_number(value: float) -> str:
    """Return a number in full, the shortest text that reads back as the same number, without a useless `.0`."""
    text = repr(value)
    return text.removesuffix(".0")
