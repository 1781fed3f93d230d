"""Operations of a route, one in each file: the state of the tube before and after, with demand and capacity of each
criterion."""
