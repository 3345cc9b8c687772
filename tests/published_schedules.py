"""Published scheduling problems with their proved optima.

Job shops: one row per job, pairs of machine (from 0) and duration. FT06 and FT10: Muth and
Thompson, Industrial Scheduling (1963); LA01: Lawrence, report of Carnegie Mellon University (1984).
J301_1: Kolisch and Sprecher, European Journal of Operational Research 96 (1996) 205.
Two-machine flow shops: Johnson, Naval Research Logistics Quarterly 1 (1954) 61.
"""

from chape.shop.schedule import Link, Problem, Resource, Task, Use

FT06 = """
2 1  0 3  1 6  3 7  5 3  4 6
1 8  2 5  4 10 5 10 0 10 3 4
2 5  3 4  5 8  0 9  1 1  4 7
1 5  0 5  2 5  3 3  4 8  5 9
2 9  1 3  4 5  5 4  0 3  3 1
1 3  3 3  5 9  0 10 4 4  2 1
"""

LA01 = """
1 21 0 53 4 95 3 55 2 34
0 21 3 52 4 16 2 26 1 71
3 39 4 98 1 42 2 31 0 12
1 77 0 55 4 79 2 66 3 77
0 83 3 34 2 64 1 19 4 37
1 54 2 43 4 79 0 92 3 62
3 69 4 77 1 87 2 87 0 93
2 38 0 60 1 41 3 24 4 83
3 17 1 49 4 25 0 44 2 98
4 77 3 79 2 43 1 75 0 96
"""

FT10 = """
0 29 1 78 2 9  3 36 4 49 5 11 6 62 7 56 8 44 9 21
0 43 2 90 4 75 9 11 3 69 1 28 6 46 5 46 7 72 8 30
1 91 0 85 3 39 2 74 8 90 5 10 7 12 6 89 9 45 4 33
1 81 2 95 0 71 4 99 6 9  8 52 7 85 3 98 9 22 5 43
2 14 0 6  1 22 5 61 3 26 4 69 8 21 7 49 9 72 6 53
2 84 1 2  5 52 3 95 8 48 9 72 0 47 6 65 4 6  7 25
1 46 0 37 3 61 2 13 6 32 5 21 9 32 8 89 7 30 4 55
2 31 0 86 1 46 5 74 4 32 6 88 8 19 9 48 7 36 3 79
0 76 1 69 3 76 5 51 2 85 9 11 6 40 7 89 4 26 8 74
1 85 0 13 2 61 6 7  8 64 9 76 5 47 3 52 4 90 7 45
"""

#: A copy that is often stored: the end of job 5 differs. Its optimum is another, 940.
FT10_CORRUPTED = FT10.replace(
    "2 14 0 6  1 22 5 61 3 26 4 69 8 21 7 49 9 72 6 53",
    "2 14 0 6  1 22 5 61 3 26 4 69 8 21 6 49 9 72 7 53",
)

#: Capacities, then per job its number, duration, demands of R1 to R4, and successors.
J301_1_CAPACITIES = (12, 13, 4, 12)
J301_1 = """
1 0 0 0 0 0 2 3 4
2 8 4 0 0 0 6 11 15
3 4 10 0 0 0 7 8 13
4 6 0 0 0 3 5 9 10
5 3 3 0 0 0 20
6 8 0 0 0 8 30
7 5 4 0 0 0 27
8 9 0 1 0 0 12 19 27
9 2 6 0 0 0 14
10 7 0 0 0 1 16 25
11 9 0 5 0 0 20 26
12 2 0 7 0 0 14
13 6 4 0 0 0 17 18
14 3 0 8 0 0 17
15 9 3 0 0 0 25
16 10 0 0 0 5 21 22
17 6 0 0 0 8 22
18 5 0 0 0 7 20 22
19 3 0 1 0 0 24 29
20 7 0 10 0 0 23 25
21 2 0 0 0 6 28
22 7 2 0 0 0 23
23 2 3 0 0 0 24
24 3 0 9 0 0 30
25 3 4 0 0 0 30
26 7 0 0 4 0 31
27 8 0 0 0 7 28
28 3 0 8 0 0 31
29 7 0 7 0 0 32
30 2 0 7 0 0 32
31 2 0 0 2 0 32
32 0 0 0 0 0
"""


def job_shop(text):
    jobs = [[int(word) for word in line.split()] for line in text.strip().splitlines()]
    tasks, links, uses = [], [], []
    for job, row in enumerate(jobs):
        for place, (machine, seconds) in enumerate(zip(row[::2], row[1::2], strict=True)):
            name = f"{job}.{place}"
            tasks.append(Task(name, seconds))
            uses.append(Use(f"m{machine}", name, name))
            if place:
                links.append(Link(f"{job}.{place - 1}", name))
    machines = sorted({use.resource for use in uses})
    return Problem(
        tuple(tasks), tuple(links), tuple(uses), tuple(Resource(name) for name in machines)
    )


def projects(text, capacities):
    rows = [[int(word) for word in line.split()] for line in text.strip().splitlines()]
    return Problem(
        tuple(Task(str(row[0]), row[1]) for row in rows),
        tuple(Link(str(row[0]), str(after)) for row in rows for after in row[6:]),
        tuple(
            Use(f"R{k}", str(row[0]), str(row[0]), row[2 + k])
            for row in rows
            for k in range(4)
            if row[2 + k]
        ),
        tuple(Resource(f"R{k}", capacity) for k, capacity in enumerate(capacities)),
    )


def flow_shop(jobs):
    text = "\n".join(f"0 {first} 1 {second}" for first, second in jobs)
    return job_shop(text)
