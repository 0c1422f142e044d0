"""A cart and its shop: what is sent to the shop's PostgreSQL, and what is asked of it there."""
