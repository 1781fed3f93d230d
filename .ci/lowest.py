"""Prints the lowest version that pyproject allows of everything it names, as constraints for pip."""
import re
import tomllib
from pathlib import Path

project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8"))["project"]
for named in sorted({*project["dependencies"], *project["optional-dependencies"]["test"]}):
    name, version = re.fullmatch(r"([\w-]+)>=([\w.]+)", named).groups()
    print(f"{name}=={version}")
