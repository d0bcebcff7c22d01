"""Each rule catches a file that breaks it, names the line, and stays silent on the shipped procedure."""

from __future__ import annotations

import pytest

from guide.procedure.checker import RULES
from tests.procedure.shipped import PATH, TEXT, faults, rules, spoiled

READ_NAMEPLATE = "do: READ the nameplate of the outdoor unit."
WEAR_HAZARD = "- WARNING: Liquid refrigerant freezes skin and blinds eyes."
FALLBACK = "            - key: evacuate\n              text: Evacuate the hoses before a port is opened\n"
SEALED = "        when: [{fact: air kept out by, is: [sealed]}]"
EVACUATED = "        when: [{fact: air kept out by, is: [evacuate]}]"
VACUUM_LIMIT = '- {channel: hose_vacuum, at_most: 1000 micron, source: "common practice, no source"}'
SIGN_PART = TEXT[TEXT.index("  - id: sign\n") : TEXT.index("on_abort:")]
LONG = "a word and one more " * 6
SIGNED = "sign:\n          meaning: I did this work, and the entries under my name are mine and true."
HELD = "          at_least: 2 min\n"


def _held(change: str, source: str = "title24") -> str:
    return f"{HELD}          changes: [{{{change}, source: {source}}}]\n"


MUTANTS = {
    "verb in small letters": ("verb-first", READ_NAMEPLATE, "do: Read the nameplate."),
    "no verb": ("verb-first", READ_NAMEPLATE, "do: NAMEPLATE is to be read."),
    "verb without object": ("verb-first", READ_NAMEPLATE, "do: READ"),
    "two verbs in capitals": ("one-action", READ_NAMEPLATE, "do: READ the nameplate, WEIGH the cylinder."),
    "two verbs joined": ("one-action", READ_NAMEPLATE, "do: OPEN the port and read the gauge."),
    "second verb after then": ("one-action", READ_NAMEPLATE, "do: OPEN the port, then close it."),
    "condition in the action": ("condition-apart", READ_NAMEPLATE, "do: READ the nameplate if there is one."),
    "and/or": ("condition-apart", READ_NAMEPLATE, "do: READ the nameplate and/or the order."),
    "action in a warning": ("hazard-without-action", WEAR_HAZARD, "- WARNING: Liquid freezes. Wear gloves."),
    "action after and": (
        "hazard-without-action",
        WEAR_HAZARD,
        "- WARNING: Liquid freezes, so first close it.",
    ),
    "action in capitals": (
        "hazard-without-action",
        WEAR_HAZARD,
        "- WARNING: Liquid freezes until you CLOSE it.",
    ),
    "warnings out of order": (
        "hazard-order",
        "- DANGER: Parts behind the panel count as live until they are tested.",
        "- CAUTION: Parts behind the panel count as live until they are tested.",
    ),
    "three warnings": (
        "few-hazards",
        WEAR_HAZARD,
        f"{WEAR_HAZARD}\n          - CAUTION: Ice is cold.\n          - NOTICE: Oil stains.",
    ),
    "long sentence": ("short-sentences", "why: Your own lock and tag,", f"why: Your own {LONG},"),
    "long question": ("short-sentences", "ask: What do you wear?", f"ask: What {LONG} do you wear?"),
    "answer OK": ("answers-seen", "accept: [dry powder, CO2]", "accept: [OK, CO2]"),
    "answer checked": ("answers-seen", "accept: [dry powder, CO2]", "accept: [dry powder, Checked.]"),
    "answer twice": ("answers-seen", "accept: [dry powder, CO2]", "accept: [CO2, CO2]"),
    "long answer": ("answers-seen", "accept: [dry powder, CO2]", f"accept: [{'x' * 61}, CO2]"),
    "step too long for 80x24": (
        "fits-sheet",
        "why: Your own lock and tag,",
        "why: " + "Short and true is what fits. " * 30 + "Own tag,",
    ),
    "step too long for 40x12": (
        "fits-sheet",
        WEAR_HAZARD,
        "- WARNING: " + "Cold burns. " * 30,
    ),
    "fact nobody knows": ("known-facts", SEALED, "        when: [{fact: moon, is: [full]}]"),
    "fact set only later": (
        "known-facts",
        "        when: [{fact: panels, is: [panels over live parts]}]\n        hold: true\n",
        "        when: [{fact: vacuum pump, is: [no pump]}]\n        hold: true\n",
    ),
    "fact set by a step that may not be worked": (
        "known-facts",
        "        do: LOOK for a vacuum pump that works here.\n",
        "        do: LOOK for a vacuum pump that works here.\n"
        "        when: [{fact: safety group, is: [A2L]}]\n",
    ),
    "applies names no order fact": ("known-facts", "fact: receiver, is: [none]", "fact: weather, is: [good]"),
    "value with a slip": ("known-values", SEALED, "        when: [{fact: air kept out by, is: [seeled]}]"),
    "value of the order with a slip": (
        "known-values",
        "fact: receiver, is: [none]",
        "fact: receiver, is: [no]",
    ),
    "step against what applies": (
        "reachable",
        "        when: [{fact: safety group, is: [A2L]}]",
        "        when: [{fact: safety group, is: [A3]}]",
    ),
    "step against itself": (
        "reachable",
        SEALED,
        "        when: [{fact: safety group, is: [A1]}, {fact: safety group, is: [A2L]}]",
    ),
    "step that excludes everything": (
        "reachable",
        EVACUATED,
        "        when: [{fact: air kept out by, is_not: [sealed, purge, evacuate]}]",
    ),
    "option that can't apply": (
        "reachable",
        "                - {fact: safety group, is: [A1]}",
        "                - {fact: safety group, is: [A3]}",
    ),
    "option after one that always applies": (
        "reachable",
        "              when: [{fact: hose set, is: [low-loss ends and under vacuum]}]\n",
        "",
    ),
    "choice without fallback": ("fallback", FALLBACK, ""),
    "two options with one key": ("fallback", "- key: purge", "- key: sealed"),
    "hold without a releasing answer": (
        "releasable",
        "accept: [no refrigerant in the air]",
        "accept: []",
    ),
    "refusal without a way on": (
        "releasable",
        "          if_refused: Tell them what you do and how far to keep away.\n",
        "",
    ),
    "limit outside the plausible range": (
        "releasable",
        VACUUM_LIMIT,
        '- {channel: hose_vacuum, at_least: 30000 micron, source: "common practice, no source"}',
    ),
    "limits that contradict": (
        "releasable",
        VACUUM_LIMIT,
        f"{VACUUM_LIMIT}\n            - {{channel: hose_vacuum, at_least: 2000 micron, source: title24}}",
    ),
    "limit on a channel not read": (
        "releasable",
        VACUUM_LIMIT,
        "- {channel: outdoor_db, at_least: 55 F, source: title24}",
    ),
    "limit from nowhere": (
        "named-sources",
        VACUUM_LIMIT,
        "- {channel: hose_vacuum, at_most: 900 micron, source: me}",
    ),
    "tolerance from nowhere": ("named-sources", "          source: title24\n", "          source: hearsay\n"),
    "figure of an order that may lack it": (
        "order-entries",
        "at_most: 1000 micron",
        "at_most: {order: low_side_design_pressure}",
    ),
    "level of a recovery machine nobody names": (
        "order-entries",
        "at_most: 1000 micron",
        "at_most: {order: recovery_level}",
    ),
    "limit by a weight on a pressure": (
        "limit-unit",
        "at_most: 1000 micron",
        "at_most: {order: weigh_in_charge}",
    ),
    "target that is no weight": (
        "limit-unit",
        SIGNED,
        "weigh: {direction: out, target: {order: recovery_level}}",
    ),
    "change on a channel not read": ("releasable", HELD, _held("channel: outdoor_db, rise_at_most: 2 dF")),
    "gas temperature not read": (
        "releasable",
        HELD,
        _held("channel: hose_vacuum, fall_at_most: 1 dpsi, gas_temperature: gas_temperature"),
    ),
    "change from nowhere": ("named-sources", HELD, _held("channel: hose_vacuum, rise_at_most: 1 dpsi", "me")),
    "change in a unit that is no difference": (
        "limit-unit",
        HELD,
        _held("channel: hose_vacuum, rise_at_most: 2 dF"),
    ),
    "change of nothing": ("range", HELD, _held("channel: hose_vacuum, rise_at_most: 0 dpsi")),
    "temperature carried to a temperature": (
        "limit-unit",
        HELD,
        _held("channel: outdoor_db, fall_at_most: 2 dF, gas_temperature: gas_temperature"),
    ),
    "change by a gas that is no temperature": (
        "limit-unit",
        HELD,
        _held("channel: hose_vacuum, fall_at_most: 1 dpsi, gas_temperature: hose_pressure"),
    ),
    "change both ways": (
        "structure",
        HELD,
        _held("channel: hose_vacuum, fall_at_most: 1 dpsi, rise_at_most: 1 dpsi"),
    ),
    "change without a way": ("structure", HELD, _held("channel: hose_vacuum")),
    "unknown figure of the order": ("structure", "at_most: 1000 micron", "at_most: {order: charge}"),
    "unknown entry of the order": ("structure", "applies:\n", "needs_order: [licence]\napplies:\n"),
    "number twice": ("numbered-ids", '- id: "1.2"', '- id: "1.1"'),
    "number of another part": ("numbered-ids", '- id: "2.1"', '- id: "3.1"'),
    "part twice": ("numbered-ids", "- id: safe\n", "- id: brief\n"),
    "abort step numbered as work": ("numbered-ids", '- id: "A.2"', '- id: "1.2"'),
    "pointer to no step": ("known-references", "It comes back before", "It comes back (step 7.33) before"),
    "fact of the order set by a step": ("own-facts", "fact: hose set\n", "fact: receiver\n"),
    "fact set twice": ("own-facts", "fact: vacuum pump\n", "fact: hose set\n"),
    "no signature": ("signed-end", SIGN_PART, ""),
    "signature before the end": (
        "signed-end",
        "        confirm:\n          ask: What do you wear?\n"
        "          accept: [goggles and gloves, glasses with side shields and gloves]\n",
        "        sign: {meaning: I wear them.}\n",
    ),
    "draft": ("draft", TEXT[TEXT.index("status:") : TEXT.index("applies:")], "status: draft\n"),
    "unknown channel": ("unknown-channel", "channel: hose_vacuum", "channel: hose_vacum"),
    "unknown unit": (
        "unknown-unit",
        "{channel: cylinder_weight, ask:",
        "{channel: cylinder_weight, unit: stone, ask:",
    ),
    "unit of another kind": (
        "unknown-unit",
        "{channel: cylinder_weight, ask:",
        "{channel: cylinder_weight, unit: F, ask:",
    ),
    "pressure neither gauge nor absolute": (
        "unknown-unit",
        "{channel: cylinder_weight, ask:",
        "{channel: suction_pressure, from: 10 psi, ask:",
    ),
    "limit in a unit that does not fit": ("limit-unit", "at_most: 1000 micron", "at_most: 1000 F"),
    "limit without unit": ("limit-unit", "at_most: 1000 micron", "at_most: 1000"),
    "tolerance as a temperature": ("unknown-unit", "tolerance: 5 dF", "tolerance: 5 F"),
    "range upside down": (
        "range",
        "{channel: cylinder_weight, ask:",
        "{channel: cylinder_weight, from: 9 lb, to: 2 lb, ask:",
    ),
    "wait of no time": ("duration", "at_least: 2 min", "at_least: 0 min"),
    "wait of a month": ("duration", "at_least: 2 min", "at_least: 720 h"),
    "unknown key": ("structure", "hold: true", "halt: true"),
    "missing key": ("structure", "title: Charge check and correction, fixed orifice\n", ""),
    "two proofs": (
        "structure",
        "        confirm:\n          ask: What do you wear?",
        "        sign: {meaning: x}\n        confirm:\n          ask: What do you wear?",
    ),
    "unknown signal word": ("structure", WEAR_HAZARD, "- ATTENTION: Liquid freezes."),
    "two words in one warning": ("structure", WEAR_HAZARD, "- {WARNING: Liquid freezes., CAUTION: Really.}"),
    "flag that is no flag": ("structure", "hold: true", "hold: yes please"),
    "approved by nobody": (
        "structure",
        TEXT[TEXT.index("approved:\n") : TEXT.index("applies:")],
        "",
    ),
    "both sides of a condition": ("structure", "is: [none]}", "is: [none], is_not: [fitted]}"),
    "limit with two bounds": (
        "structure",
        "at_most: 1000 micron",
        "at_most: 1000 micron, at_least: 1 micron",
    ),
    "format of another day": ("structure", "format: procedure/1", "format: procedure/9"),
    "broken YAML": ("yaml", "parts:\n", "parts: [\n"),
}


def test_the_shipped_procedure_has_no_fault() -> None:
    assert [str(fault) for fault in faults(TEXT)] == []


@pytest.mark.parametrize(("rule", "old", "new"), MUTANTS.values(), ids=MUTANTS.keys())
def test_a_bad_file_is_caught_by_its_rule(rule: str, old: str, new: str) -> None:
    found = faults(spoiled(old, new))
    assert rule in {fault.rule for fault in found}, found


@pytest.mark.parametrize(("rule", "old", "new"), MUTANTS.values(), ids=MUTANTS.keys())
def test_a_fault_says_where_and_what_would_do(rule: str, old: str, new: str) -> None:
    for fault in faults(spoiled(old, new)):
        assert fault.file == "spoiled.yaml"
        assert 1 <= fault.line <= len(TEXT.splitlines()) + 5
        assert str(fault).isprintable()
        assert len(fault.message) > 15


def test_every_rule_has_a_mutant() -> None:
    assert {rule.name for rule in RULES} <= {rule for rule, _, _ in MUTANTS.values()}


def test_every_rule_says_what_it_demands() -> None:
    assert all(rule.judge.__doc__ for rule in RULES)


def test_a_fault_names_the_line_it_stands_in() -> None:
    text = spoiled(READ_NAMEPLATE, "do: Read the nameplate.")
    line = next(n for n, one in enumerate(text.splitlines(), start=1) if "do: Read the" in one)
    (fault,) = faults(text)
    assert (fault.line, fault.column) == (line, 9)


def test_one_run_tells_all_faults() -> None:
    text = spoiled(READ_NAMEPLATE, "do: Read it.").replace("accept: [dry powder, CO2]", "accept: [OK, CO2]")
    assert rules(text) == {"verb-first", "answers-seen"}


def test_the_file_is_called_after_its_procedure() -> None:
    assert f"id: {PATH.stem}\n" in TEXT
