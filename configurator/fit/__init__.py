"""Whether units fit, one by one and all together, where they go, and why not.

openings     the clear openings of a space, and how a unit is brought in through them
units        whether one unit fits a space on its own, and why not
shapes       the ways in which one unit may stand
rooms        a packing problem, and the sums that refuse it; what holds of a good arrangement
search       the complete search, and model for what it cannot settle in time
conflict     a room with fewer units; a minimal set that cannot go in together
preferences  places wished for or preferred; a good arrangement, and what it leaves open
layout       layouts as values; the folder `layout` makes them
"""
