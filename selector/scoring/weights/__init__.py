"""How weights are found: by swing, rank, pairs, bounds or directly. Descriptions of a list are not among the ways."""
