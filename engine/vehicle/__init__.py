"""The vehicle as it came, its paint, its panels, its pictures. Pure."""
