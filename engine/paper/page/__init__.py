"""How a paper is set: what it is made of, and the media that set it."""
