"""What is intended: stages, sections, steps, shapes of bodies, amounts. Pure."""
