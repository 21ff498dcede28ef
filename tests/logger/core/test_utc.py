"""RFC 3339 text to and from nanoseconds."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rfc3339_validator import validate_rfc3339

from logger.core.utc import format_utc, parse_utc_ns

NANO = 1_000_000_000

# The examples of RFC 3339 section 5.8, from memory (check-values.md section 8 lists them); what each must
# come to is computed by Python's own datetime, never by our parser.
RFC_EXAMPLES = [
    ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520_000, tzinfo=UTC)),
    ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)),
    ("1937-01-01T12:00:27.87+00:20", datetime(1937, 1, 1, 11, 40, 27, 870_000, tzinfo=UTC)),
    ("1990-12-31T23:59:60Z", datetime(1991, 1, 1, tzinfo=UTC)),
    ("1990-12-31T15:59:60-08:00", datetime(1991, 1, 1, tzinfo=UTC)),
]


def nanoseconds(instant: datetime) -> int:
    """Nanoseconds since 1970 of an instant that has whole microseconds."""
    since = instant - datetime(1970, 1, 1, tzinfo=UTC)
    return (since.days * 86_400 + since.seconds) * NANO + since.microseconds * 1_000


@pytest.mark.parametrize(("text", "instant"), RFC_EXAMPLES)
def test_examples_of_the_rfc(text: str, instant: datetime) -> None:
    """The examples printed in RFC 3339 come to the instants that datetime computes."""
    assert nanoseconds(instant) == parse_utc_ns(text)


@pytest.mark.parametrize(("text", "instant"), RFC_EXAMPLES)
def test_the_validator_agrees_except_on_leap_seconds(text: str, instant: datetime) -> None:
    """rfc3339-validator takes the same examples; its own docstring says that it knows no leap seconds."""
    assert (":60" not in text) == validate_rfc3339(text)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("2026-05-03T09:12:00", "no zone"),
        ("2026-05-03 09:12:00.5", "no zone"),
        ("2026-05-03", "not a date and time"),
        ("", "not a date and time"),
        ("2026-05-03T09:12Z", "not a date and time"),
        ("2026-05-03T09:12:00.Z", "not a date and time"),
        ("2026-05-03T09:12:00Z\n", "not a date and time"),
        ("٢٠٢٦-05-03T09:12:00Z", "not a date and time"),
        ("2026-05-03T09:12:00+0200", "not a date and time"),
        ("2026-02-29T09:12:00Z", "exists"),
        ("2026-13-01T09:12:00Z", "exists"),
        ("2026-05-03T24:00:00Z", "exists"),
        ("2026-05-03T09:60:00Z", "exists"),
        ("2026-05-03T09:12:61Z", "exists"),
        ("0000-01-01T00:00:00Z", "exists"),
        ("9999-12-31T23:59:59-01:00", "exists"),
        ("2026-05-03T09:12:00+24:00", "zone that does not exist"),
        ("2026-05-03T09:12:00-01:60", "zone that does not exist"),
        ("2026-05-03T09:12:60Z", "second 60"),
        ("2026-05-03T23:59:60Z", "second 60"),
        ("1990-12-31T23:59:60+01:00", "second 60"),
    ],
)
def test_refused_texts_say_why(text: str, reason: str) -> None:
    """What is no RFC 3339 instant is refused with a plain sentence on one line naming the text."""
    with pytest.raises(ValueError, match=reason) as refusal:
        parse_utc_ns(text)

    assert repr(text) in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_letters_may_be_small_and_a_space_may_stand_for_t() -> None:
    """RFC 3339 section 5.6 (from memory): ABNF letters have no case, and its note allows a space."""
    expected = parse_utc_ns("2026-05-03T09:12:00.25Z")

    assert expected == parse_utc_ns("2026-05-03t09:12:00.25z") == parse_utc_ns("2026-05-03 09:12:00.25Z")


def test_nanoseconds_are_kept_and_more_digits_dropped() -> None:
    """Nine digits of a fraction survive; a tenth does not round up."""
    assert 123_456_789 == parse_utc_ns("1970-01-01T00:00:00.1234567899Z")


def test_before_1970_fractions_still_count_forward() -> None:
    """Half a second after 23:59:59 on the last day of 1969 is half a second before zero."""
    assert -500_000_000 == parse_utc_ns("1969-12-31T23:59:59.5Z")


def test_format_has_milliseconds_and_z() -> None:
    """The written form always has three decimals and Z, and rounds to the nearest millisecond."""
    assert "1970-01-01T00:00:00.000Z" == format_utc(0)
    assert "1970-01-01T00:00:00.001Z" == format_utc(500_000)
    assert "1969-12-31T23:59:59.999Z" == format_utc(-1_000_000)


def test_format_refuses_years_that_have_no_four_digits() -> None:
    """An instant beyond the year 9999 is refused, not written wrongly."""
    with pytest.raises(ValueError, match="years 1 to 9999"):
        format_utc(300_000 * 365 * 86_400 * NANO)


@given(st.datetimes(timezones=st.timezones()))
def test_any_aware_datetime_is_read_as_python_means_it(instant: datetime) -> None:
    """datetime.isoformat and our parser agree on every instant whose offset has whole minutes."""
    text = instant.isoformat()
    if not validate_rfc3339(text):  # offsets with seconds (local mean time) are no RFC 3339
        return
    try:
        expected = nanoseconds(instant.astimezone(UTC))
    except OverflowError:
        return

    assert expected == parse_utc_ns(text)


@given(st.integers(min_value=-2_208_988_800_000, max_value=253_402_300_799_000))
def test_milliseconds_survive_the_round_trip(milliseconds: int) -> None:
    """What is formatted is valid for the outside validator and reads back to the same millisecond."""
    text = format_utc(milliseconds * 1_000_000)

    assert validate_rfc3339(text)
    assert milliseconds * 1_000_000 == parse_utc_ns(text)


@given(st.text(max_size=40))
def test_any_other_text_is_refused_or_read_never_a_crash(text: str) -> None:
    """Arbitrary text either parses or raises ValueError."""
    try:
        parse_utc_ns(text)
    except ValueError:
        return
    assert text[:4].isdecimal()
