"""A small studio that makes the sample case's pictures: surfaces, light, lens, camera."""
