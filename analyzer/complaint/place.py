"""The terminal of a complaint: by its tag, or by the room that it serves."""

from __future__ import annotations

from analyzer.errors import CallError, nearest
from analyzer.findings import StoredReview
from analyzer.report import natural_key


def find_terminal(review: StoredReview, tag: str | None, room: str | None) -> str:
    """Return the terminal that is meant.

    Parameters
    ----------
    tag : str, optional
        Its tag; upper and lower case count alike.
    room : str, optional
        A part of the zone's name in the terminal schedule, such as its number.

    Raises
    ------
    CallError
        Neither is given, no terminal with trends fits, or several rooms do.
    """
    if tag:
        return _by_tag(review, tag, room)
    if room:
        return _by_room(review, room)
    raise CallError(None, "a complaint needs a terminal or a room", "Give --terminal TAG, or --room ROOM.")


def _by_tag(review: StoredReview, tag: str, room: str | None) -> str:
    known = {terminal.casefold(): terminal for terminal in review.terminals}
    found = tag.strip() if tag.strip() in review.terminals else known.get(tag.strip().casefold())
    if found is None:
        scheduled = {terminal.casefold() for terminal in review.site.schedule.index}
        what = "is scheduled, but has no trends" if tag.strip().casefold() in scheduled else "is no terminal"
        hint = nearest(tag.upper(), review.terminals)
        raise CallError("--terminal", f"{tag!r} {what} in {review.folder}{hint}", "See verdicts.csv for the tags.")
    if room and room.casefold() not in _zone(review, found).casefold():
        zone = _zone(review, found) or "not given"
        raise CallError("--room", f"{found} does not serve {room!r}: its zone is {zone}", "Give one of the two.")
    return found


def _by_room(review: StoredReview, room: str) -> str:
    wanted = room.strip().casefold()
    zones = {terminal: _zone(review, terminal) for terminal in review.terminals}
    fitting = [terminal for terminal, zone in zones.items() if zone.casefold() == wanted]
    # A room's number counts as a word of its own: 10 is not in 101.
    fitting = fitting or [
        terminal for terminal, zone in zones.items() if wanted in zone.casefold().split()
    ]  # fmt: skip
    fitting = fitting or [terminal for terminal, zone in zones.items() if wanted and wanted in zone.casefold()]
    if not fitting:
        hint = nearest(room, [zone for zone in zones.values() if zone])
        raise CallError(
            "--room", f"no zone in the terminal schedule is named {room!r}{hint}",
            "Give the zone as terminals.csv names it, or --terminal TAG.",
        )  # fmt: skip
    if len(fitting) > 1:
        named = ", ".join(f"{tag} ({zones[tag]})" for tag in sorted(fitting, key=natural_key)[:6])
        raise CallError("--room", f"{room!r} fits {len(fitting)} terminals: {named}", "Give --terminal TAG.")
    return fitting[0]


def _zone(review: StoredReview, terminal: str) -> str:
    zone = review.schedule(terminal).get("zone")
    return zone if isinstance(zone, str) else ""
