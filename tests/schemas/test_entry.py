"""The form of a ledger entry: canonical bytes, what may stand in it, and what another program may not slip in."""

import json
from dataclasses import replace
from hashlib import sha256
from types import MappingProxyType

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from schemas.entry import Entry, canonical, decode_entry, private_hash
from schemas.errors import RecordError
from schemas.words import Kind

INT_MAX = 2**53 - 1
ENTRY = Entry(
    kind="reading",
    at="2026-03-02T07:15:00.250000Z",
    mono_ns=123_456_789,
    by="p-07",
    salt="00112233445566778899aabbccddeeff",
    body={"torque": "95.2", "unit": "N·m", "sequence": 17, "tool_time": None, "notes": ["low battery"]},
)
# Written by hand, key by key, so that the form of v: 1 cannot change unseen: old leaves can never be migrated.
ENCODED = (
    '{"at":"2026-03-02T07:15:00.250000Z","body":{"notes":["low battery"],"sequence":17,"tool_time":null,'
    '"torque":"95.2","unit":"N·m"},"by":"p-07","kind":"reading","mono_ns":123456789,'
    '"salt":"00112233445566778899aabbccddeeff","v":1}'
)

texts = st.text(st.characters(exclude_categories=["Cs"]))
keys = st.text(st.characters(max_codepoint=127), max_size=6)
scalars = st.none() | st.integers(-INT_MAX, INT_MAX) | texts
values = st.recursive(scalars, lambda inner: st.lists(inner) | st.dictionaries(keys, inner), max_leaves=20)
entries = st.builds(
    Entry,
    kind=texts.filter(bool),
    at=st.datetimes().map(lambda instant: instant.strftime("%Y-%m-%dT%H:%M:%S.%fZ").rjust(27, "0")),
    mono_ns=st.integers(0, INT_MAX),
    by=texts,
    salt=st.binary(min_size=16, max_size=16).map(bytes.hex),
    body=st.dictionaries(keys, values),
)


def test_entry_has_the_form_that_is_final():
    assert ENTRY.encode().decode() == ENCODED
    assert decode_entry(ENCODED) == decode_entry(ENCODED.encode()) == ENTRY


@given(entries)
def test_entry_survives_encoding_and_decoding(entry):
    assert decode_entry(entry.encode()) == entry


@given(values)
def test_canonical_bytes_equal_the_reference_library(value):
    # The rfc8785 package is the reference here.
    assert canonical(value) == rfc8785.dumps(value)


@pytest.mark.parametrize(
    ("given_text", "canonical_text"),
    [
        # RFC 8785, 3.2.2: the escaping example of its sample object; also in cyberphone/json-canonicalization, values.
        pytest.param(
            r'"\u20ac$\u000F\u000aA' + r"'" + r'\u0042\u0022\u005c\\\"\/"',
            r'"€$\u000f\nA' + r"'" + r'B\"\\\\\"/"',
            id="escaping",
        ),
        # RFC 8785, 3.2.3: the sorting example, of its keys those that are ASCII (from memory).
        pytest.param(r'{"1":"One","\r":"Carriage Return"}', r'{"\r":"Carriage Return","1":"One"}', id="sorting"),
    ],
)
def test_published_example_comes_out_as_printed(given_text, canonical_text):
    assert canonical(json.loads(given_text)).decode() == canonical_text


@pytest.mark.parametrize(
    ("value", "first", "last"),
    [
        # cyberphone/json-canonicalization at 19d51d7, testdata: ends of the SHA-256 of the published output files.
        pytest.param(
            {
                "1": {"f": {"f": "hi", "F": 5}, "\n": 56},
                "10": {},
                "": "empty",
                "a": {},
                "111": [{"e": "yes", "E": "no"}],
                "A": {},
            },
            "605f6500",
            "3195d5",
            id="structures",
        ),
        pytest.param({"Unnormalized Unicode": "A\u030a"}, "0d99aad9", "2381d3", id="unicode"),
    ],
)
def test_published_file_has_the_published_hash(value, first, last):
    digest = sha256(canonical(value)).hexdigest()

    assert (digest[: len(first)], digest[-len(last) :]) == (first, last)


def test_a_word_of_the_trade_is_written_as_its_text():
    assert canonical({"kind": Kind.SHORT_PULL, "places": (1, 2)}) == b'{"kind":"short pull","places":[1,2]}'


looped: dict = {}
looped["again"] = looped


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        pytest.param({"torque": 95.2}, r"`torque`: 95\.2 cannot stand in the ledger; .* other numbers", id="float"),
        pytest.param({"torque": float("nan")}, "`torque`: nan cannot stand", id="nan"),
        pytest.param({"done": True}, "`done`: True cannot stand", id="truth-value"),
        pytest.param([{"done": [False]}], r"`\[0\]\.done\[0\]`: False cannot stand", id="truth-value-deep-inside"),
        pytest.param({"n": INT_MAX + 1}, "`n`: 9007199254740992 cannot stand .* a text of digits", id="int-above"),
        pytest.param({"n": -INT_MAX - 1}, "`n`: -9007199254740992 cannot stand", id="int-below-in-an-object"),
        pytest.param([-INT_MAX - 1], r"`\[0\]`: -9007199254740992 cannot stand", id="int-below"),
        pytest.param({"Größe": 1}, "`entry`: 'Größe' cannot stand .* an ASCII text for a key", id="key-not-ascii"),
        pytest.param({"a": {7: 1}}, "`a`: 7 cannot stand .* an ASCII text for a key", id="key-not-text"),
        pytest.param({"raw": b"\x01"}, r"`raw`: b'\\x01' cannot stand", id="bytes"),
        pytest.param({"raw": {1, 2}}, "`raw`: {1, 2} cannot stand", id="set"),
        pytest.param({"raw": b"x" * 99}, "`raw`: b'x{58}… cannot stand", id="long-value-is-cut"),
        pytest.param(["\ud800"], "half of a surrogate pair", id="lone-surrogate"),
        pytest.param(looped, "nested deeper than 32", id="holds-itself"),
    ],
)
def test_what_may_not_stand_in_the_ledger_is_refused(value, reason):
    with pytest.raises(RecordError, match=reason):
        canonical(value)


@pytest.mark.parametrize("edge", [INT_MAX, -INT_MAX])
def test_largest_integers_are_allowed(edge):
    assert canonical([edge, {"n": edge}]) == f'[{edge},{{"n":{edge}}}]'.encode()


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        pytest.param({"kind": ""}, "`kind`: '' cannot stand", id="kind-empty"),
        pytest.param({"kind": None}, "`kind`: None cannot stand", id="kind-missing"),
        pytest.param({"at": "2026-03-02T07:15:00+01:00"}, "`at`: .* give RFC 3339 in UTC", id="at-with-offset"),
        pytest.param({"at": "2026-02-30T07:15:00Z"}, "`at`: '2026-02-30T07:15:00Z' cannot stand", id="at-no-such-day"),
        pytest.param({"at": 0}, "`at`: 0 cannot stand", id="at-a-number"),
        pytest.param({"mono_ns": -1}, "`mono_ns`: -1 cannot stand", id="mono-negative"),
        pytest.param({"mono_ns": INT_MAX + 1}, "`mono_ns`: .* from the program's start", id="mono-after-104-days"),
        pytest.param({"mono_ns": 1.0}, "`mono_ns`: 1.0 cannot stand", id="mono-float"),
        pytest.param({"mono_ns": True}, "`mono_ns`: True cannot stand", id="mono-truth-value"),
        pytest.param({"by": None}, "`by`: None cannot stand", id="by-missing"),
        pytest.param({"salt": "00" * 15}, "`salt`: .* 16 bytes as 32 hex digits", id="salt-short"),
        pytest.param({"salt": "AA" * 16}, "`salt`: .* in lower case", id="salt-upper-case"),
        pytest.param({"salt": b"0" * 32}, "`salt`: b'0", id="salt-bytes"),
        pytest.param({"body": []}, r"`body`: \[\] cannot stand .* a dict", id="body-a-list"),
        pytest.param({"body": MappingProxyType({})}, "`body`: mappingproxy.* cannot stand", id="body-a-view"),
        pytest.param({"body": {"p": 0.99}}, r"`body\.p`: 0\.99 cannot stand", id="body-with-a-float"),
    ],
)
def test_field_out_of_form_is_refused_by_name(change, reason):
    with pytest.raises(RecordError, match=reason):
        replace(ENTRY, **change).encode()


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        pytest.param("", "not readable as JSON .*; verify the file", id="empty"),
        pytest.param(b"\xff\xfe", "not readable as JSON", id="not-utf-8"),
        pytest.param("\ud800", "not readable as JSON", id="lone-surrogate"),
        pytest.param("[" * 100_000, "not readable as JSON", id="nested-without-end"),
        pytest.param("1" * 5000, "not readable as JSON", id="number-without-end"),
        pytest.param("\ufeff" + ENCODED, "not readable as JSON", id="byte-order-mark"),
        pytest.param("[1]", "no version `v`", id="not-an-object"),
        pytest.param("{}", "no version `v`", id="no-version"),
        pytest.param('{"v":true}', "no version `v`", id="version-a-truth-value"),
        pytest.param('{"v":2,"new":{}}', "form v: 2, a newer program wrote it, this one reads v: 1", id="newer"),
        pytest.param(ENCODED.replace('"v":1', '"v":0'), "not the fields of v: 1", id="older-than-the-first"),
        pytest.param(ENCODED.replace('"by":"p-07",', ""), "not the fields of v: 1", id="field-missing"),
        pytest.param(ENCODED.replace('"v":1', '"v":1,"w":1'), "not the fields of v: 1", id="field-too-many"),
        pytest.param(ENCODED.replace('"p-07"', "7"), "`by`: 7 cannot stand", id="field-of-another-type"),
        pytest.param(ENCODED.replace("17", "17.0"), r"`body\.sequence`: 17\.0 cannot stand", id="float"),
        pytest.param(ENCODED.replace("null", "NaN"), r"`body\.tool_time`: nan cannot stand", id="nan"),
        pytest.param(ENCODED.replace("null", "true"), r"`body\.tool_time`: True cannot stand", id="truth-value"),
        pytest.param(ENCODED.replace('"N·m"', r'"\ud800"'), "half of a surrogate pair", id="escaped-lone-surrogate"),
        pytest.param(ENCODED.replace(",", ", "), "not canonical", id="spaces"),
        pytest.param(ENCODED.replace("N·m", r"N\u00b7m"), "not canonical", id="escape-without-need"),
        pytest.param(ENCODED.replace("17", "-0"), "not canonical", id="minus-zero"),
        pytest.param(ENCODED.replace('"unit"', '"torque":"5","unit"'), "not canonical", id="key-twice"),
    ],
)
def test_foreign_form_is_refused(text, reason):
    with pytest.raises(RecordError, match=reason):
        decode_entry(text)


@given(st.binary() | st.text() | values.map(lambda value: json.dumps(value)))
def test_any_bytes_are_an_entry_or_a_record_error(text):
    with pytest.raises(RecordError, match=r"\S"):
        decode_entry(text)


def test_private_hash_is_sha_256_over_salt_and_text():
    # FIPS 180 example of 56 bytes, cut after 16: any SHA-256 tool gives the same.
    message = "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"

    hashed = private_hash(message[:16].encode(), message[16:])

    assert hashed == "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"


@given(st.binary(min_size=16, max_size=16), texts)
def test_private_hash_takes_the_text_as_utf_8(salt, value):
    assert private_hash(salt, value) == sha256(salt + value.encode("utf-8")).hexdigest()


@pytest.mark.parametrize(
    ("salt", "value", "reason"),
    [
        pytest.param(b"", "Ana", "a salt has 16 bytes, not 0", id="no-salt"),
        pytest.param(b"0" * 32, "Ana", "a salt has 16 bytes, not 32", id="salt-still-in-hex"),
        pytest.param(b"0" * 16, "\ud800", "half of a surrogate pair", id="lone-surrogate"),
    ],
)
def test_private_hash_refuses_what_it_cannot_hash(salt, value, reason):
    with pytest.raises(RecordError, match=reason):
        private_hash(salt, value)


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(f" {ENCODED}", id="space-before"),
        pytest.param(f"{ENCODED}\n", id="line-end-behind"),
        pytest.param(ENCODED.replace("123456789", "true"), id="truth-value-for-the-count"),
    ],
)
def test_a_text_beside_the_form_is_refused_though_it_is_json(text):
    assert json.loads(text)
    with pytest.raises(RecordError, match=r"not canonical|cannot stand in the ledger"):
        decode_entry(text)


def test_what_stands_behind_an_entry_is_told_as_json_tells_it():
    with pytest.raises(RecordError, match=rf"not readable as JSON \(Extra data: line 1 column {len(ENCODED) + 1} "):
        decode_entry(f"{ENCODED}{ENCODED}")
