"""The language as text for recognisers and people: JSGF, and a phrase list that covers every pair of words.

JSGF: Java Speech Grammar Format, W3C Note of 5 June 2000 (NOTE-jsgf-20000605).
"""

from __future__ import annotations

from grammar.automaton import Automaton
from grammar.errors import GrammarError
from grammar.nodes import Choice, Loop, Mark, Node, Rule, Seq, Word


def to_jsgf(node: Node, name: str = "odovox") -> str:
    """Return the language as a JSGF grammar whose public rule is the outermost rule of `node`.

    The text is for people and for outside checks; a recogniser gets the minimal automaton instead.
    """
    if not isinstance(node, Rule):
        raise GrammarError("only a named rule can be printed as JSGF")
    rules: dict[str, str] = {}
    _collect(node, rules)
    lines = ["#JSGF V1.0;", f"grammar {name};"]
    for rule, text in reversed(rules.items()):
        public = "public " if rule == node.name else ""
        lines.append(f"{public}<{rule}> = {text};")
    return "\n".join(lines) + "\n"


def _collect(rule: Rule, rules: dict[str, str]) -> None:
    if rule.name not in rules:
        text = _jsgf(rule.part, rules)
        rules.setdefault(rule.name, text or "<NULL>")


def _jsgf(node: Node, rules: dict[str, str]) -> str:
    match node:
        case Word(text):
            return text
        case Mark():
            return ""
        case Rule():
            _collect(node, rules)
            return f"<{node.name}>"
        case Seq(parts):
            return " ".join(text for part in parts if (text := _jsgf(part, rules)))
        case Loop(part):
            return f"({_jsgf(part, rules)})+"
        case Choice(options):
            texts = list(dict.fromkeys(_jsgf(option, rules) for option in options))
            spoken = [text for text in texts if text]
            if not spoken:
                return ""
            if len(spoken) == len(texts):
                return spoken[0] if len(spoken) == 1 else "(" + " | ".join(spoken) + ")"
            return "[" + " | ".join(spoken) + "]"
    raise GrammarError(f"unknown part {node!r}")


def to_phrase_list(automaton: Automaton) -> tuple[str, ...]:
    """Return phrases that hold every pair of words that may follow one another, and every single word.

    For a recogniser that learns a bigram model from its phrases: the pairs are all that such a model can
    hold, so listing whole numbers would teach it nothing more.
    """
    phrases = set(automaton.vocabulary)
    for arcs in automaton.arcs:
        for first, middle in arcs.items():
            phrases.update(f"{first} {second}" for second in automaton.arcs[middle])
    return tuple(sorted(phrases))
