"""How it is heard: tones, players, alarms."""
