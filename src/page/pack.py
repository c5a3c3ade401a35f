"""Packs the program and the sources of the page into one HTML file.

pack.py PROGRAM.wasm.gz FOLDER writes FOLDER/emberpot.html, and beside it what a static server may
offer so that the page can be installed: a manifest, a service worker, a picture.
"""

import base64
import hashlib
import html
import json
import pathlib
import re
import sys

HERE = pathlib.Path(__file__).parent
EXAMPLES = HERE.parent.parent / "examples"
# In the order in which they need one another.
SCRIPTS = ["dom", "texts", "toml", "engine", "keep", "batch", "substances", "fields", "form", "editor", "start",
           "sections", "answer", "whatif", "runs", "tools", "bench", "main"]
# Characters that HTML does not carry through. One of two bytes stands for each, and carries 9 bits more.
BARRED = (0, 13, ord("<"))
# The first of those of two bytes that is no control character.
FIRST_LONG = 0xA0


def text(name):
    return (HERE / name).read_text(encoding="utf-8")


def bare(name):
    """A script without indents and lines of comment; no text of it goes over a line's end."""
    lines = (line.strip() for line in text(name).splitlines())
    return "".join(f"{line}\n" for line in lines if line and not line.startswith("//"))


def in_characters(data):
    """The bytes as text, 7 bits a character: 13.5 % longer in UTF-8, where base 64 is 33 %."""
    bits, count, at, characters = 0, 0, 0, []

    def take(wanted):
        nonlocal bits, count, at
        while count < wanted:
            bits, count, at = bits << 8 | (data[at] if at < len(data) else 0), count + 8, at + 1
        count -= wanted
        taken, bits = bits >> count, bits & (1 << count) - 1
        return taken

    while 8 * at - count < 8 * len(data):
        septet = take(7)
        barred = septet in BARRED
        characters.append(chr(FIRST_LONG + (BARRED.index(septet) << 9 | take(9)) if barred else septet))
    return "".join(characters)


def texts():
    found = re.findall(r"'([\w.*-]+)': '((?:[^'\\]|\\.)*)'", text("texts.js"))
    return {key: html.escape(value) for key, value in found}


def with_texts(page, texts):
    """The page with its texts: `data-t` fills an element, `data-t-label` names it."""
    page = re.sub(r' data-t="([^"]+)">', lambda match: ">" + texts[match[1]], page)
    return re.sub(r' data-t-label="([^"]+)"', lambda match: f' aria-label="{texts[match[1]]}"', page)


def examples():
    found = {path.name: path.read_text(encoding="utf-8") for path in sorted(EXAMPLES.glob("*.toml"))}
    return json.dumps(found, ensure_ascii=False).replace("<", "\\u003c")


def main(program, folder):
    folder = pathlib.Path(folder)
    packed = pathlib.Path(program).read_bytes()
    script = "\n(() => {\n'use strict';\n" + "".join(bare(f"{s}.js") for s in SCRIPTS) + "})();\n"
    worker = bare("wasi.js") + bare("worker.js")
    parts = {"STYLE": text("page.css"), "SCRIPT": script, "WORKER": worker, "EXAMPLES": examples()}
    for part in parts.values():
        assert "\r" not in part and not re.search(r"</(script|style)|<!--", part)
    parts["HASH"] = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    words = texts()
    parts |= {"PROGRAM": in_characters(packed), "LENGTH": str(len(packed)), "LANG": words["lang"]}
    page = re.sub("@([A-Z]+)@", lambda found: parts[found[1]], with_texts(text("page.html"), words))
    (folder / "emberpot.html").write_text(page, encoding="utf-8", newline="\n")
    digest = hashlib.sha256(page.encode()).hexdigest()[:16]
    for name in ["emberpot.webmanifest", "emberpot-offline.js", "emberpot.svg"]:
        (folder / name).write_text(text(name).replace("@DIGEST@", digest), encoding="utf-8", newline="\n")
    print(f"program {len(packed)} B packed; page {len(page.encode())} B: {folder / 'emberpot.html'}")


main(*sys.argv[1:])
