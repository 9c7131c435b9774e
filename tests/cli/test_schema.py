#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The JSON Schema as an editor uses it: usage test_schema.py PROGRAM

Scalars are read as an editor's YAML 1.2 reads them. Every case in cases/ names the schema, every right case keeps it,
and of the wrong ones it finds those that a schema can find.
"""
import json
import pathlib
import re
import subprocess
import sys
import jsonschema
import yaml

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
MODELINE = "# yaml-language-server: $schema=../schema.json"


class Editor(yaml.SafeLoader):
    """The core schema of YAML 1.2: no dates, no `yes`, no sexagesimal numbers."""


Editor.yaml_implicit_resolvers = {}
for tag, pattern, first in (("bool", r"^(?:true|false)$", "tf"), ("null", r"^(?:~|null|)$", "~n"),
                            ("int", r"^[-+]?[0-9]+$", "-+0123456789"),
                            ("float", r"^[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?$", "-+.0123456789")):
    Editor.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(pattern), list(first))
Editor.add_implicit_resolver("tag:yaml.org,2002:null", re.compile("^$"), [""])


def main():
    printed = subprocess.run([sys.argv[1], "schema"], capture_output=True, text=True, check=True).stdout
    schema = json.loads(printed)
    faults = [] if (ROOT / "cases/schema.json").read_text() == printed else ["cases/schema.json is stale: countermass schema >cases/schema.json"]
    kind = jsonschema.validators.validator_for(schema)
    kind.check_schema(schema)
    if kind.META_SCHEMA.get("$id") != schema["$schema"]:
        faults.append("the validator does not know the draft that the schema names")
    validator = kind(schema)
    right, wrong, found = 0, 0, 0
    missed = []
    for path in sorted((ROOT / "cases").glob("*/*.yaml")):
        text = path.read_text(errors="replace")
        if text.startswith("record:"):  # of coefficients, not a case
            continue
        if MODELINE not in text.splitlines():
            faults.append(f"{path}: the line `{MODELINE}` is missing; run sh cases/modelines.sh")
        try:
            errors = [e.message for e in validator.iter_errors(yaml.load(text, Editor))]
        except (yaml.YAMLError, ValueError) as error:
            errors = [str(error)]
        if path.parent.name != "invalid":
            right += 1
            faults += [f"{path}: {e[:200]}" for e in errors]
        else:
            wrong += 1
            found += bool(errors)
            if not errors:
                missed.append(path.name)
    if "-v" in sys.argv:
        print("\n".join(missed))
    if found < 0.4 * wrong or right < 70:
        faults.append(f"the schema finds only {found} of {wrong} wrong cases, or there are few right ones: {right}")
    print("\n".join(faults) if faults else f"schema: {right} cases keep it, {found} of {wrong} wrong ones do not")
    return 1 if faults else 0


sys.exit(main())
