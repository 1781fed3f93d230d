"""Ground floor: units, tables, evidence, and how a thing is said in words."""
