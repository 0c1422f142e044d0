"""What is true on paper, decided here and set in type in engine.paper. Pure."""
