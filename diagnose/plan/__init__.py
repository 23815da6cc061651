"""What to replace first, in which stages, for which money.

    wishes    what the owner wants, and what parts can be had for
    read      the same from YAML, every fault with its place
    life      what is left of a part's life, the age at which to renew, doing two jobs together
    offers    which offer to take: what a part costs while the car is kept
    units     the work to choose from: a remedy at its place, with all that decides about it
    chances   how likely each set of work ends the complaint
    shared    what a set costs: access opened once, what must follow done once
    table     both for all sets of some units
    search    the best stages, searched in full
    bound     what no plan costs less than
    prices    which prices are worth asking for
    spread    what a plan may come to
    chosen    a plan as plain values
    planner   from a belief and wishes to a plan
    as_json   a plan for other programs

Money is a float in the job's currency inside, and decimal where it is read; labour is in minutes.
"""
