"""What `deploy/bench` runs: each figure of ours beside the least work that could do the same.

figures    one figure: ours, floor, ratio, limit; as lines and as JSON
rounds     ours and floor in turn, medians
folders    a data folder and the environment of programs that use it
importing, judging, saving, pages, sheets    the figures, measured from outside
inside/    programs they start, which run with the project's settings on such a folder
"""
