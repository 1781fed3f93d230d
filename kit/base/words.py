"""How a thing is told to a reader, in one place."""


def key_label(key):
    """An assumption's key as a label: 'abrasive.emery, fine.wear_coefficient@hours' becomes 'emery, fine: wear
    coefficient (hours)'."""
    key, _, tube = key.partition("@")
    prefix, _, rest = key.removeprefix("abrasive.").rpartition(".")
    key = f"{prefix}: {rest}".replace("_", " ") if prefix and prefix != rest else rest.replace("_", " ")
    return key + (f" ({tube})" if tube else "")
