"""Prints pip constraints that hold what the kit computes, draws and writes with to the lowest series that pyproject.toml allows.

JupyterLab and the tools of the tests are left to pip: no quick test starts the one, and the others are no part of the kit.
"""
import re
import tomllib

with open("pyproject.toml", "rb") as file:
    project = tomllib.load(file)["project"]
for line in project["dependencies"]:
    name, lowest = re.match(r"([\w-]+)>=([\d.]+)", line).groups()
    if name != "jupyterlab":
        print(f"{name}=={lowest}.*")
