"""What lies on the paint: flashes, the gate before a coat, cures, water. Pure."""
