"""Prints pip constraints that hold every dependency to the lowest series that pyproject.toml allows."""
import re
import tomllib

with open("pyproject.toml", "rb") as file:
    project = tomllib.load(file)["project"]
for line in [*project["dependencies"], *project["optional-dependencies"]["test"]]:
    name, lowest = re.match(r"([\w-]+)>=([\d.]+)", line).groups()
    print(f"{name}=={lowest}.*")
