"""Where the units of a selection go: the layout liked best of those that keep the axle ratings."""
