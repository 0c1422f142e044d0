"""What a worker may do: each rule returns the events of one press, or refuses. Pure."""
