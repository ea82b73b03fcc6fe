"""Whether units go in together, where, and why not: the questions others ask.

rooms        a packing problem: what has to go into a space; what holds of a good arrangement
shapes       the ways in which one unit may stand
distances    positions held apart
search       the complete search, and model for what it cannot settle in time
bounds       sums that refuse a room before it is searched
conflict     a room with fewer units; a minimal set that cannot go in together
wishes       places wished for or preferred, as conditions
improve      a good arrangement rather than any; what it leaves open
loads        an arrangement that keeps the axle ratings
answers      layouts and reasons
"""
