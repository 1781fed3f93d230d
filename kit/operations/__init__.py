"""Operations of a route, one a file: the tube as it is found in, the tube as it is left out, what was asked and
given."""
