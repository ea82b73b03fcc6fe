"""Mass of a selection and where it rests: places, axle loads, ratings, mounts."""
