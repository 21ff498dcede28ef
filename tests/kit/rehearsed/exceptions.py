"""Drives put together from a bank, each with one of life's exceptions in it; where they went follows from the seed.

`compose` gives one drive: single readings said at moments when the dash shows a value of the bank, several in a row a
few seconds apart. A reading that breaks the ordinary course of a drive, and that no note announced, says so in `surprise`.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from speechkit.calls import System

from rehearsed.bank import Bank, BankItem
from rehearsed.car import outing_of
from rehearsed.moments import Moment, Moments
from rehearsed.records import RehearsedCall, RehearsedDrive, SaidReading
from rehearsed.twists import Twist, twist_of

_SEED_OF_GROUP = {"tuning": 100_000_000, "report": 200_000_000}
_LEAST_CALLS, _MOST_CALLS = 25, 40
_ATTEMPTS = 12
_BREATH_S = 0.8
_EXTRAS = ("range_left", "efficiency", "outside_temperature", "indicated_speed", "odometer")
_WRONG_APART_S = 120.0


@dataclass(frozen=True, slots=True)
class Placed:
    """An item, when its first word is said, and why it is a surprise."""

    at_s: float
    item: BankItem
    surprise: str = ""

    @property
    def ends_s(self) -> float:
        """When its last word has been said."""
        return self.at_s + self.item.length_s


def compose(bank: Bank, exception: str, seed: int, ratio_db: float) -> RehearsedDrive:
    """Return a drive with an exception, from a group's bank; the same for the same arguments.

    Raises:
        LookupError: the bank holds too little at that ratio.
        ValueError: there is no such exception.
    """
    if exception not in EXCEPTIONS:
        raise ValueError(f"there is no exception {exception!r}; there are {', '.join(EXCEPTIONS)}")
    own_seed = _SEED_OF_GROUP[bank.group] + seed
    system: System = "metric" if seed % 2 else "miles"
    outing = outing_of(own_seed)
    twist = twist_of(exception, own_seed, outing)
    placed: list[Placed] = []
    for attempt in range(_ATTEMPTS):
        rng = random.Random(f"rehearsed {bank.group} {exception} {seed} {attempt}")
        composer = Composer(Moments(bank, system, ratio_db, outing=outing, twist=twist, rng=rng), rng)
        try:
            placed = EXCEPTIONS[exception](composer)
        except LookupError as error:
            if attempt == _ATTEMPTS - 1:
                raise LookupError(f"{exception}, seed {seed}, {ratio_db:g} dB: {error}") from error
        else:
            break
    return RehearsedDrive(
        name=f"{bank.group}-{exception.replace(' ', '-')}-{seed}-{ratio_db:g}dB",
        group=bank.group,
        seed=own_seed,
        system=system,
        voice="bank",
        ratio_db=ratio_db,
        exception=exception,
        calls=tuple(_call(each) for each in placed),
    )


def _call(placed: Placed) -> RehearsedCall:
    item = placed.item
    readings: tuple[SaidReading, ...] = ()
    if item.quantity:
        readings = (SaidReading(item.quantity, item.value, item.unit, placed.surprise),)
    return RehearsedCall(
        at_s=round(placed.at_s, 3),
        length_s=item.length_s,
        text=item.text,
        kind=item.kind,
        readings=readings,
        vosk=item.vosk,
        sphinx=item.sphinx,
    )


class Composer:
    """Puts one drive together."""

    def __init__(self, moments: Moments, rng: random.Random) -> None:
        self.moments, self.rng = moments, rng
        self.twist: Twist = moments.twist
        self._spacing_s = rng.uniform(240.0, 840.0)
        self._count = rng.randint(11, 13)

    def ordinary(
        self, around_s: float | None = None, keep_clear: Sequence[tuple[float, float]] = ()
    ) -> list[Placed]:
        """Return checkpoints evenly spaced, about a moment where one is given; none within the clear times."""
        placed: list[Placed] = []
        for anchor in self._anchors(around_s):
            if not any(begin <= anchor.look_s <= end for begin, end in keep_clear):
                placed += self.checkpoint(anchor)
        return placed

    def checkpoint(self, anchor: Moment, item: BankItem | None = None, surprise: str = "") -> list[Placed]:
        """Return several calls in a row, one of them at a given moment: of a given item, else of any take."""
        rng = self.rng
        at_s = self.moments.said_s(anchor)
        placed = [Placed(at_s, item or self.moments.take(anchor), surprise)]
        if anchor.quantity == "charge":
            trip = self.moments.next_trip(placed[0].ends_s + _BREATH_S, at_s + 45.0)
            if trip is not None:
                placed.append(Placed(self.moments.said_s(trip), self.moments.take(trip)))
        else:
            charge_s = at_s - rng.uniform(4.5, 6.5)
            charge = self.moments.shown("charge", charge_s)
            if charge is not None and charge_s > 0.0:
                placed.insert(0, Placed(charge_s, charge))
        ready_s = placed[-1].ends_s
        for quantity in rng.sample(_EXTRAS, rng.choice((1, 2, 2, 3))):
            extra_s = ready_s + rng.uniform(1.5, 4.0)
            extra = self.moments.shown(quantity, extra_s)
            if extra is not None and quantity != anchor.quantity:
                placed.append(Placed(extra_s, extra))
                ready_s = placed[-1].ends_s
        return placed

    def finished(self, placed: Sequence[Placed], keep: Sequence[Placed] = ()) -> list[Placed]:
        """Return the calls in order, none while another is said; those of `keep` stay, the others give way.

        Raises:
            LookupError: too few are left.
        """
        chosen = sorted(keep, key=lambda each: each.at_s)
        rest = [each for each in sorted(placed, key=lambda each: each.at_s) if each not in chosen]
        must = list(chosen)
        for each in rest:
            if all(
                each.ends_s + _BREATH_S <= other.at_s or other.ends_s + _BREATH_S <= each.at_s
                for other in must
            ):
                must.append(each)
                must.sort(key=lambda other: other.at_s)
        while len(must) > _MOST_CALLS:
            must.remove(self.rng.choice([each for each in must if each not in chosen]))
        if len(must) < _LEAST_CALLS:
            raise LookupError(f"only {len(must)} calls could be put together")
        return must

    def _anchors(self, around_s: float | None) -> list[Moment]:
        """Return the trip moments next to evenly spaced times of driving, with the event in the midst of them."""
        ends_s = self.moments.outing.ends_s
        length_s = min(self._spacing_s * self._count, ends_s - 120.0)
        middle_s = self.rng.uniform(0.0, ends_s) if around_s is None else self.twist.driving_s(around_s)
        begin_s = min(max(60.0, middle_s - self.rng.uniform(0.35, 0.65) * length_s), ends_s - 60.0 - length_s)
        wanted = [begin_s + length_s * (number + 0.5) / self._count for number in range(self._count)]
        return self.moments.trips_near([self.twist.clock_s(each) for each in wanted])


def _plain(composer: Composer) -> list[Placed]:
    return composer.finished(composer.ordinary(composer.twist.event_s))


def _about_event(
    composer: Composer, labels: dict[str, str], notes: Sequence[tuple[str, float]] = ()
) -> list[Placed]:
    """Return a drive with calls close before and after its event; the first of each quantity after it is labelled.

    `notes` are said so many seconds after the event's beginning.
    """
    twist, moments = composer.twist, composer.moments
    event_s, over_s = twist.event_s, twist.over_s
    assert event_s is not None
    assert over_s is not None
    said = [Placed(event_s + after_s, moments.note(words)) for words, after_s in notes]
    quiet_until_s = max((each.ends_s for each in said), default=over_s) + 1.0
    ready_s = max(over_s, quiet_until_s)
    if "charge" in labels or composer.twist.pause is not None:
        before = moments.charge_at(event_s - composer.rng.uniform(15.0, 30.0))
        after = moments.charge_at(ready_s + composer.rng.uniform(8.0, 20.0))
    else:
        before, after = moments.trip_before(event_s - 15.0), moments.trip_after(ready_s + 8.0)
    placed = composer.checkpoint(before) + composer.checkpoint(after)
    placed += composer.ordinary(event_s, [(event_s - 90.0, ready_s + 90.0)])
    placed = [each for each in placed if not event_s <= each.at_s <= ready_s]
    finished = composer.finished(placed, said)
    waiting = dict(labels)
    return [
        replace(each, surprise=waiting.pop(each.item.quantity, "")) if each.at_s >= over_s else each
        for each in finished
    ]


def _charging(composer: Composer, *, noted: bool) -> list[Placed]:
    pause = composer.twist.pause
    assert pause is not None
    if not noted:
        return _about_event(composer, {"charge": "charged", "range_left": "charged"})
    notes = [("note charging", composer.rng.uniform(5.0, 30.0))]
    if composer.rng.random() < 0.5:
        notes.append(("note unplugged", pause.lasts_s - composer.rng.uniform(5.0, 30.0)))
    return _about_event(composer, {}, notes)


def _trip_reset(composer: Composer, *, noted: bool) -> list[Placed]:
    if noted:
        return _about_event(composer, {}, [("note trip reset", composer.rng.uniform(2.0, 6.0))])
    return _about_event(composer, {"trip": "trip reset", "efficiency": "trip reset"})


def _descent(composer: Composer) -> list[Placed]:
    """Return a drive whose first charge after the descent is above the last before it."""
    return _about_event(composer, {"charge": "descent"})


def _overnight(composer: Composer) -> list[Placed]:
    return _about_event(composer, {"charge": "paused", "outside_temperature": "paused"})


def _switched(composer: Composer) -> list[Placed]:
    return _about_event(composer, {"trip": "units switched", "range_left": "units switched"})


def _gps_lost(composer: Composer) -> list[Placed]:
    lost_s = composer.twist.lost_s
    assert lost_s is not None
    within = composer.moments.trip_after(lost_s[0] + composer.rng.uniform(60.0, 400.0))
    return composer.finished(composer.ordinary(lost_s[0]), composer.checkpoint(within)[:2])


def _odometers(composer: Composer) -> list[Placed]:
    """Return a drive whose odometer is read now and then, and once or twice another car's."""
    rng, moments = composer.rng, composer.moments
    own = moments.odometers()
    if len(own) < 5:
        raise LookupError("the odometer is shown too seldom in the bank")
    begin = rng.randrange(len(own) - 4)
    own = own[begin : begin + rng.randint(5, 8)]
    middle_s = own[len(own) // 2].look_s
    placed = composer.ordinary(middle_s)
    read = [Placed(moments.said_s(each), moments.take(each)) for each in own]
    between = [each.ends_s for each in placed if read[0].at_s < each.at_s < read[-1].at_s]
    others = [
        Placed(ready_s + rng.uniform(1.5, 4.0), moments.other_odometer(), "other car's odometer")
        for ready_s in rng.sample(between, min(len(between), rng.randint(1, 2)))
    ]
    others = [each for each in others if all(abs(each.at_s - mine.at_s) > 8.0 for mine in read)]
    if not others:
        raise LookupError("there is no place for another car's odometer")
    return composer.finished(placed, read + others)


def _wrong(composer: Composer, least: int, most: int, *, at_start: bool) -> list[Placed]:
    """Return a drive in which consecutive readings of one quantity have a wrong first answer and the right one later."""
    rng, moments = composer.rng, composer.moments
    for quantity in rng.sample(("charge", "trip"), 2):
        wrong = moments.wrong(quantity, _WRONG_APART_S)
        count = min(rng.randint(least, most), len(wrong))
        if count < least:
            continue
        # At a drive's start there must be some drive left; runs that lie close together are likelier.
        starts = range(max(1, (len(wrong) - count + 1) * 2 // 3) if at_start else len(wrong) - count + 1)
        spans = [wrong[start + count - 1].look_s - wrong[start].look_s + 600.0 for start in starts]
        first = rng.choices(starts, [span**-2 for span in spans])[0]
        run = wrong[first : first + count]
        begin_s = 0.0 if at_start else run[0].look_s
        around_s = run[-1].look_s + (2400.0 if at_start else 0.0)
        # Other quantities are called in between, this one not.
        placed = [
            each
            for each in composer.ordinary(around_s)
            if each.item.quantity != quantity or not begin_s - 60.0 <= each.at_s <= run[-1].look_s + 60.0
        ]
        items = [Placed(moments.said_s(each), moments.wrong_take(each)) for each in run]
        return composer.finished(placed, items)
    raise LookupError("the bank has too few wrong first answers at this ratio")


def _correction_late(composer: Composer) -> list[Placed]:
    """Return a drive in which a value is misread, others are called, and the misread one is then corrected."""
    rng, moments = composer.rng, composer.moments
    quantity = rng.choice(("charge", "trip"))
    right, correction = moments.correctable(quantity)
    at_s = moments.said_s(right)
    misread = Placed(at_s, moments.misread(right), "misread")
    between = [
        each
        for each in composer.checkpoint(right, misread.item)
        if each.item.quantity != quantity and each.at_s > at_s
    ]
    ready_s = max((each.ends_s for each in between), default=misread.ends_s)
    if not between:
        ready_s += rng.uniform(1.5, 4.0)
        other = moments.shown("trip" if quantity == "charge" else "charge", ready_s) or moments.shown(
            "indicated_speed", ready_s
        )
        if other is None:
            raise LookupError("nothing is there to call between a misread value and its correction")
        between = [Placed(ready_s, other)]
        ready_s = between[0].ends_s
    corrected = Placed(ready_s + rng.uniform(3.0, 60.0), correction)
    clear = (at_s - 60.0, corrected.ends_s + 30.0)
    return composer.finished(composer.ordinary(at_s, [clear]), [misread, *between, corrected])


def _repeats(composer: Composer) -> list[Placed]:
    """Return a drive in which some calls are said two or three times, the driver being unsure that they were heard."""
    rng, moments = composer.rng, composer.moments
    placed = composer.ordinary()
    may_be = [each for each in placed if len(moments.takes(each.item)) > 1]
    again: list[Placed] = []
    for each in rng.sample(may_be, min(len(may_be), rng.randint(2, 4))):
        takes = [take for take in moments.takes(each.item) if take != each.item]
        said = [each]
        for take in rng.sample(takes, rng.randint(1, len(takes))):
            said.append(Placed(said[-1].ends_s + rng.uniform(1.5, 5.0), take))
        if not any(
            mine.at_s < other.ends_s + 2.0 and other.at_s < mine.ends_s + 2.0
            for mine in said
            for other in again
        ):
            again += said
    if not again:
        raise LookupError("no call has two takes")
    return composer.finished(placed, again)


EXCEPTIONS: dict[str, Callable[[Composer], list[Placed]]] = {
    "charging noted": lambda composer: _charging(composer, noted=True),
    "charging not noted": lambda composer: _charging(composer, noted=False),
    "trip reset noted": lambda composer: _trip_reset(composer, noted=True),
    "trip reset not noted": lambda composer: _trip_reset(composer, noted=False),
    "charge up on a descent": _descent,
    "gps lost": _gps_lost,
    "no gps": _plain,
    "paused overnight": _overnight,
    "units switched": _switched,
    "odometers confused": _odometers,
    "first wrong": lambda composer: _wrong(composer, 1, 2, at_start=True),
    "several wrong in a row": lambda composer: _wrong(composer, 3, 4, at_start=False),
    "correction late": _correction_late,
    "repeats": _repeats,
}
"""What may happen, by name, and how a drive with it is put together."""
