"""Mutual information between what a call asks and what is answered, by brute force over every possible answer.

Reads a list of tables from standard input, writes for each two figures in bits: with the answers of `told` told apart and
all others taken together, and with every answer told apart. Written from the definition of mutual information over the
joint distribution; numpy does the sums.
"""

import itertools
import json
import sys

import numpy as np


def joint(table):
    """p[answer to the call, one axis for each answer asked for]."""
    words = [len(blind) for blind in table["blind"]]
    p = np.zeros([table["targets"] + 1, *words])
    blinds = [np.array(blind) for blind in table["blind"]]
    kinds = []
    for shows in table["kinds"]:
        product = np.ones([1] * len(words))
        for axis, (show, blind, error) in enumerate(zip(shows, blinds, table["errors"])):
            noisy = (1 - error) * np.array(show) + error * blind
            shape = [1] * len(words)
            shape[axis] = len(show)
            product = product * noisy.reshape(shape)
        kinds.append(product)
    for state in table["states"]:
        p[state["target"]] += state["p"] * kinds[state["kind"]]
    nothing = np.ones([1] * len(words))
    for axis, blind in enumerate(blinds):
        shape = [1] * len(words)
        shape[axis] = len(blind)
        nothing = nothing * blind.reshape(shape)
    p[table["targets"]] += table["other"] * nothing
    return p


def information(p):
    """Mutual information of the rows and columns of a joint distribution, in bits."""
    p = p / p.sum()
    rows, columns = p.sum(axis=1, keepdims=True), p.sum(axis=0, keepdims=True)
    inside = p > 0
    return float((p[inside] * np.log2(p[inside] / (rows * columns)[inside])).sum())


def figures(case):
    table = case["table"]
    p = joint(table)
    targets = p.shape[0]
    # What no word stands for is an answer too: it is never given, and is the rest of the probability.
    masses = np.zeros(targets)
    for state in table["states"]:
        masses[state["target"]] += state["p"]
    masses[targets - 1] += table["other"]
    flat = p.reshape(targets, -1)
    unsaid = (masses - flat.sum(axis=1)).clip(min=0).reshape(-1, 1)
    every = list(itertools.product(*[range(size) for size in p.shape[1:]]))
    place = {words: at for at, words in enumerate(every)}
    apart = [place[tuple(words)] for words in case["told"] if words]
    together = [at for at in range(len(every)) if at not in set(apart)]
    rest = flat[:, together].sum(axis=1, keepdims=True) + unsaid
    return [information(np.hstack([flat[:, apart], rest])), information(np.hstack([flat, unsaid]))]


json.dump([figures(case) for case in json.load(sys.stdin)], sys.stdout)
