#!/usr/bin/env python3
"""Tests the rooms against a program made wrong, every change in one build.

cargo-mutants says what to change and with what. Built one by one that takes hours; here all changes
of a room are built into one test program, each behind a switch, and the program runs once for each
with that switch set. What cannot stand behind a switch (a `const fn`, a function that gives an
`impl`, a chain of `let`, a field left out) is listed, for `cargo mutants` itself to try.

    pip install tree-sitter tree-sitter-rust; cargo install cargo-mutants --locked
    sh docs/rooms-apart.sh FOLDER
    python3 docs/mutants.py FOLDER ROOM...

It writes FOLDER/ROOM.json (every change and what became of it) and says what survived. A change is
taken not to compile where rustc says so of its own line in the common build.
"""
import collections
import json
import os
import re
import shutil
import subprocess
import sys
import time

import tree_sitter
import tree_sitter_rust

PARSER = tree_sitter.Parser(tree_sitter.Language(tree_sitter_rust.language()))
LEAST_SECONDS = 20  # a program that takes as long, and ten times as long as ordinary, never ends
# What rustc says of a replacement that no build would take: no such default, function or operator.
NEVER_COMPILES = ("E0277", "E0599", "E0061", "E0369", "E0034")
# Each room has a switch of its own, so that no other room is changed with it.
SWITCH = """
pub(crate) fn changed(n: u32) -> bool {
    static WHICH: std::sync::LazyLock<Option<u32>> =
        std::sync::LazyLock::new(|| std::env::var("CHANGED_IN_ROOM").ok()?.parse().ok());
    *WHICH == Some(n)
}
"""


def walk(node):
    yield node
    for child in node.children:
        yield from walk(child)


def text_of(data, node):
    return data[node.start_byte:node.end_byte].decode()


def is_const(data, node):
    while node is not None:
        if node.type in ("const_item", "static_item"):
            return True
        if node.type == "function_item":
            head = data[node.start_byte:node.child_by_field_name("body").start_byte]
            return b"const fn" in head
        node = node.parent
    return False


class File:
    """One source file with its changes behind switches."""

    def __init__(self, data, changes, apart):
        self.data, self.apart = data, apart
        starts = [0]
        for line in data.decode().splitlines(keepends=True):
            starts.append(starts[-1] + len(line))
        self.starts = starts
        self.root = PARSER.parse(data).root_node
        self.nodes = list(walk(self.root))
        self.instead = collections.defaultdict(list)  # expression: other texts
        self.unless = collections.defaultdict(list)  # pattern of an arm that may be taken out
        self.first = collections.defaultdict(list)  # body of a function: what it gives at once
        for number, change in changes:
            why_not = self.place(number, change)
            if why_not:
                apart[number] = why_not

    def offset(self, point):
        at = self.starts[point["line"] - 1] + point["column"] - 1
        return len(self.data.decode()[:at].encode())

    def place(self, number, change):
        """Puts a change where it belongs; or says why it cannot stand behind a switch."""
        begin, end = (self.offset(change["span"][side]) for side in ("start", "end"))
        genre, text = change["genre"], change["replacement"]
        if genre == "FnValue":
            around = [n for n in self.nodes if n.type == "function_item"
                      and n.start_byte <= begin and end <= n.end_byte]
            function = max(around, key=lambda n: n.start_byte)
            gives = function.child_by_field_name("return_type")
            body = function.child_by_field_name("body")
            if gives is not None and "impl " in text_of(self.data, gives):
                return "gives an impl"
            if is_const(self.data, body):
                return "const"
            self.first[body.id].append((number, "" if text == "()" else text))
            return None
        for node in self.nodes:
            if genre == "BinaryOperator" and node.type in ("binary_expression", "compound_assignment_expr"):
                sign = node.child_by_field_name("operator")
                if sign.start_byte == begin:
                    other = self.data[node.start_byte:begin].decode() + text
                    other += self.data[sign.end_byte:node.end_byte].decode()
                    return self.behind(node, number, other)
            elif genre == "UnaryOperator" and node.type == "unary_expression":
                if node.start_byte == begin and node.children[0].end_byte == end:
                    return self.behind(node, number, self.data[end:node.end_byte].decode())
            elif genre == "MatchArm" and node.type == "match_arm" and node.start_byte == begin:
                pattern = node.child_by_field_name("pattern")
                if is_const(self.data, node):
                    return "const"
                self.unless[pattern.id].append(number)
                return None
            elif genre == "MatchArmGuard" and node.type == "match_arm":
                guard = node.child_by_field_name("pattern").child_by_field_name("condition")
                if guard is not None and guard.start_byte <= begin and end <= guard.end_byte:
                    return self.behind(guard, number, text)
        return "no place for a switch"

    def behind(self, node, number, other):
        if is_const(self.data, node):
            return "const"
        self.instead[node.id].append((number, other))
        return None

    def render(self, node):
        if node.id in self.unless:
            mark = " ".join(f"/*M{n}*/" for n in self.unless[node.id])
            none = " && ".join(f"!crate::changed({n})" for n in self.unless[node.id])
            guard = node.child_by_field_name("condition")
            if guard is None:
                return f"{self.inside(node)} if {none} {mark}\n"
            word = next(child for child in node.children if child.type == "if")
            pattern = self.data[node.start_byte:word.start_byte].decode()
            return f"{pattern} if {none} && ({self.render(guard)}) {mark}\n"
        body = self.inside(node)
        if node.id in self.instead:
            arms = "".join(f"\n/*M{n}*/ if crate::changed({n}) {{ ({other}) }} /*M{n}*/\nelse "
                           for n, other in self.instead[node.id])
            return f"({arms}{{ ({body}) }})"
        return body

    def inside(self, node):
        if not node.children:
            return text_of(self.data, node)
        parts, at = [], node.start_byte
        for place, child in enumerate(node.children):
            parts += [self.data[at:child.start_byte].decode(), self.render(child)]
            at = child.end_byte
            if place == 0:
                parts += [f"\n/*M{n}*/ if crate::changed({n}) {{ return {text}; }} /*M{n}*/\n"
                          for n, text in self.first.get(node.id, [])]
        return "".join(parts) + self.data[at:node.end_byte].decode()

    def switched(self):
        before, after = self.data[:self.root.start_byte], self.data[self.root.end_byte:]
        return before.decode() + self.render(self.root) + after.decode()


def cargo(folder, *words):
    command = ["cargo", *words, "--offline", "--message-format", "json"]
    flags = os.environ.get("RUSTFLAGS", "") + " -Awarnings"
    run = subprocess.run(command, cwd=folder, env=dict(os.environ, RUSTFLAGS=flags),
                         capture_output=True, text=True)
    said = [json.loads(line) for line in run.stdout.splitlines() if line.startswith("{")]
    return run.returncode, said, run.stderr


def blamed(folder, message):
    """The changes on whose lines an error stands; of a match that no longer covers everything,
    all its arms that may be taken out."""
    code = (message.get("code") or {}).get("code") or "error"
    for span in message["spans"]:
        path = os.path.join(folder, span["file_name"])
        if not span["is_primary"] or not os.path.exists(path):
            continue
        data = open(path, "rb").read()
        line = span["line_start"] - 1
        if code == "E0004":
            for node in walk(PARSER.parse(data).root_node):
                value = node.child_by_field_name("value") if node.type == "match_expression" else None
                if value is not None and value.start_point[0] == line:
                    for arm in node.child_by_field_name("body").children:
                        if arm.type == "match_arm":
                            head = data[arm.start_byte:arm.child_by_field_name("value").start_byte]
                            for number in re.findall(rb"!crate::changed\((\d+)\)", head):
                                yield int(number), "a match without a rest"
            continue
        reach = {}
        for at, text in enumerate(data.decode().split("\n")):
            for number in re.findall(r"/\*M(\d+)\*/", text):
                reach.setdefault(int(number), [at, at])[1] = at
        around = [(b - a, number) for number, (a, b) in reach.items() if a <= line <= b]
        if around:
            yield min(around)[1], f"{code}: {message['message']}"


def build(folder, room, changes):
    """The room's test program with its switches; and the changes that are not in it, with why."""
    own, kept = f"{folder}/{room}/src", f"{folder}/{room}/as-it-is"
    if not os.path.exists(kept):
        shutil.copytree(own, kept)
    by_file, apart = collections.defaultdict(list), {}
    for number, change in enumerate(changes, 1):
        by_file[os.path.relpath(change["file"], f"{room}/src")].append((number, change))
    while True:
        shutil.rmtree(own)
        shutil.copytree(kept, own)
        for name, ours in by_file.items():
            data = open(f"{kept}/{name}", "rb").read()
            left = [(number, change) for number, change in ours if number not in apart]
            open(f"{own}/{name}", "w").write(File(data, left, apart).switched())
        open(f"{own}/lib.rs", "a").write(SWITCH.replace("ROOM", room))
        failed, said, error = cargo(folder, "check", "--tests", "-p", f"{room}-room")
        if not failed:
            break
        errors = [one["message"] for one in said if one.get("reason") == "compiler-message"
                  and one["message"]["level"] == "error"]
        new = dict(pair for message in errors for pair in blamed(folder, message))
        if not new:
            sys.exit("\n".join(message["rendered"] for message in errors) or error)
        apart.update(new)
    _, said, error = cargo(folder, "test", "--no-run", "--lib", "-p", f"{room}-room")
    programs = [one["executable"] for one in said if one.get("executable")]
    return (programs or sys.exit(error))[-1], apart


def run(room, program, number, most):
    begun, switch = time.time(), {f"CHANGED_IN_{room}": str(number)}
    try:
        ends = subprocess.run([program, "-q"], env=os.environ | switch,
                              capture_output=True, timeout=most)
        fate = "noticed" if ends.returncode else "survives"
    except subprocess.TimeoutExpired:
        fate = "noticed: never ends"
    return fate, time.time() - begun


def main():
    folder, rooms = os.path.abspath(sys.argv[1]), sys.argv[2:]
    for room in rooms:
        own, kept = f"{folder}/{room}/src", f"{folder}/{room}/as-it-is"
        if os.path.exists(kept):  # the list is of the sources as they are
            shutil.rmtree(own)
            shutil.copytree(kept, own)
        listed = subprocess.run(["cargo", "mutants", "--list", "--json", "--no-config", "-p", f"{room}-room"],
                                cwd=folder, check=True, capture_output=True, text=True)
        changes = json.loads(listed.stdout)
        program, apart = build(folder, room, changes)
        fate, seconds = run(room, program, 0, 600)
        if fate != "survives":
            sys.exit(f"{room}: a test fails before anything is changed")
        results = []
        for number, change in enumerate(changes, 1):
            why = apart.get(number)
            if why is None:
                fate, _ = run(room, program, number, max(LEAST_SECONDS, 10 * seconds))
            elif why.startswith(NEVER_COMPILES):
                fate = "does not compile"
            else:
                fate = "to be tried by itself"
            results.append({"change": change["name"], "fate": fate, "why": why})
            if fate in ("survives", "to be tried by itself"):
                print(f"{fate}: {change['name']}", flush=True)
        json.dump(results, open(f"{folder}/{room}.json", "w"), indent=1)
        shutil.rmtree(own)
        shutil.move(kept, own)
        print(room, dict(collections.Counter(one["fate"] for one in results)), flush=True)


main()
