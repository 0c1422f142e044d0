"""The worker: heat, pace, water, signs, hands and ears. Pure."""
