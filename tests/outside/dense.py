#!/usr/bin/env python3
"""Dense solve of linear networks with numpy.

Input, one network after another:

    case NODES GROUND
    v A B VOLTS OHMS      volts from A to B without current, behind ohms
    i A B AMPS 0          a current from B through the element to A

Output: a line with the version, then one line of node volts for each network.

Sparse tableau, not nodal analysis: unknowns are all node volts and the current out of
each element's A; the rows are Kirchhoff's current law at every node but GROUND, whose
volts are zero, and each element's own law, divided by its resistance where that is above 1 ohm.
"""

import sys

import numpy


def solve(nodes, ground, elements):
    size = nodes + len(elements)
    matrix = numpy.zeros((size, size))
    right = numpy.zeros(size)
    for index, (kind, a, b, one, ohms) in enumerate(elements):
        current = nodes + index
        # The element drives its current out of A and takes it in at B.
        matrix[a, current] += 1.0
        matrix[b, current] -= 1.0
        row = nodes + index
        if kind == "i":
            matrix[row, current] = 1.0
            right[row] = one
        else:
            scale = 1.0 / max(1.0, ohms)
            matrix[row, a] += scale
            matrix[row, b] -= scale
            matrix[row, current] += ohms * scale
            right[row] = one * scale
    matrix[ground, :] = 0.0
    matrix[ground, ground] = 1.0
    right[ground] = 0.0
    answer = numpy.linalg.solve(matrix, right)
    # One step of refinement with the residual in extended precision.
    residual = right.astype(numpy.longdouble) - matrix.astype(numpy.longdouble) @ answer.astype(numpy.longdouble)
    answer = answer + numpy.linalg.solve(matrix, residual.astype(float))
    return answer[:nodes]


def networks(lines):
    nodes, ground, elements = None, 0, []
    for line in lines:
        words = line.split()
        if words[0] == "case":
            if nodes is not None:
                yield nodes, ground, elements
            nodes, ground, elements = int(words[1]), int(words[2]), []
        else:
            elements.append((words[0], int(words[1]), int(words[2]), float(words[3]), float(words[4])))
    if nodes is not None:
        yield nodes, ground, elements


def main():
    with open(sys.argv[1], encoding="utf-8") as source, open(sys.argv[2], "w", encoding="utf-8") as target:
        print("numpy", numpy.__version__, file=target)
        for nodes, ground, elements in networks(source):
            print(*(repr(float(volts)) for volts in solve(nodes, ground, elements)), file=target)


main()
