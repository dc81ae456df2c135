"""The hidden Markov core against published examples, a general library, every path written out, and closed forms."""

from itertools import product
from math import inf, log, prod
from random import Random
from statistics import NormalDist

import numpy as np
import pytest
from hmmlearn.hmm import CategoricalHMM, GaussianHMM

from collector.expect.chain import Smoothed, best_path, forward, smooth

# The umbrella world (Russell and Norvig, 2nd edition 2003, page 540) over five days, as the Wikipedia page "Forward-backward
# algorithm" works it out. The numbers are copied from hmmlearn's test_base.py, class TestBaseAgainstWikipedia; those of the
# forward pass from a public test of the same example.
UMBRELLA = {
    "first": {"rain": 0.5, "dry": 0.5},
    "moves": {"rain": {"rain": 0.7, "dry": 0.3}, "dry": {"rain": 0.3, "dry": 0.7}},
    "shows": {"rain": {"umbrella": 0.9, "none": 0.1}, "dry": {"umbrella": 0.2, "none": 0.8}},
    "seen": ("umbrella", "umbrella", "none", "umbrella", "umbrella"),
}
UMBRELLA_FORWARD = [0.8182, 0.8834, 0.1907, 0.7308, 0.8673]
UMBRELLA_SMOOTHED = [0.8673, 0.8204, 0.3075, 0.8204, 0.8673]
UMBRELLA_LOG_SUM, UMBRELLA_BEST_LOG = -3.3725, -4.4590

# Rosalind, Bioinformatics Textbook Track, problem BA10J "Solve the Soft Decoding Problem" (rosalind.info/problems/ba10j),
# sample dataset and sample output; the start is even.
SOFT = {
    "first": {"A": 0.5, "B": 0.5},
    "moves": {"A": {"A": 0.911, "B": 0.089}, "B": {"A": 0.228, "B": 0.772}},
    "shows": {"A": {"x": 0.356, "y": 0.191, "z": 0.453}, "B": {"x": 0.04, "y": 0.467, "z": 0.493}},
    "seen": "zyxxxxyxzz",
}
SOFT_SMOOTHED = [0.5438, 0.6492, 0.9647, 0.9936, 0.9957, 0.9891, 0.9154, 0.964, 0.8737, 0.8167]

# Rosalind, problem BA10C "Implement the Viterbi Algorithm" (rosalind.info/problems/ba10c), sample dataset and sample output.
DECODED = {
    "first": {"A": 0.5, "B": 0.5},
    "moves": {"A": {"A": 0.641, "B": 0.359}, "B": {"A": 0.729, "B": 0.271}},
    "shows": {"A": {"x": 0.117, "y": 0.691, "z": 0.192}, "B": {"x": 0.097, "y": 0.42, "z": 0.483}},
    "seen": "xyxzzxyxyy",
}

# The Wikipedia page "Viterbi algorithm", the village doctor; the probabilities, those of the two further runs of observations
# too, are copied from a public program of that example that lists them.
DOCTOR = {
    "first": {"healthy": 0.6, "fever": 0.4},
    "moves": {"healthy": {"healthy": 0.7, "fever": 0.3}, "fever": {"healthy": 0.4, "fever": 0.6}},
    "shows": {
        "healthy": {"normal": 0.5, "cold": 0.4, "dizzy": 0.1},
        "fever": {"normal": 0.1, "cold": 0.3, "dizzy": 0.6},
    },
}


def as_steps(first, moves, likelihoods):
    """A usual hidden Markov model as a chain: the first step leaves one made-up state, `before`, by the first odds."""

    def step(odds_from, likelihood):
        return lambda state: [(after, odds * likelihood[after]) for after, odds in odds_from(state).items()]

    return [step((lambda _: first) if n == 0 else moves.__getitem__, likelihood) for n, likelihood in enumerate(likelihoods)]


def published(first, moves, shows, seen):
    return as_steps(first, moves, [{state: odds[sign] for state, odds in shows.items()} for sign in seen])


BEFORE = {"before": 1.0}


@pytest.mark.parametrize(
    ("model", "state", "expected"),
    [
        pytest.param(UMBRELLA, "rain", UMBRELLA_SMOOTHED, id="umbrella"),
        pytest.param(SOFT, "A", SOFT_SMOOTHED, id="rosalind-ba10j"),
    ],
)
def test_smoothed_beliefs_are_the_published_ones(model, state, expected):
    found = smooth(BEFORE, published(**model)).beliefs

    assert [belief[state] for belief in found] == pytest.approx(expected, abs=5.1e-5)
    assert [sum(belief.values()) for belief in found] == pytest.approx([1.0] * len(expected), abs=1e-12)


def test_forward_beliefs_and_their_weights_are_the_published_ones():
    belief, weight_of_all, rain = BEFORE, 1.0, []

    for moves in published(**UMBRELLA):
        belief, weight = forward(belief, moves)
        weight_of_all *= weight
        rain.append(belief["rain"])

    assert rain == pytest.approx(UMBRELLA_FORWARD, abs=5.1e-5)
    assert log(weight_of_all) == pytest.approx(UMBRELLA_LOG_SUM, abs=5.1e-5)
    assert smooth(BEFORE, published(**UMBRELLA)).log_sum == pytest.approx(UMBRELLA_LOG_SUM, abs=5.1e-5)


@pytest.mark.parametrize(
    ("seen", "expected", "probability"),
    [
        pytest.param(("normal", "cold", "dizzy"), ("healthy", "healthy", "fever"), 0.01512, id="normal-cold-dizzy"),
        pytest.param(("normal", "cold", "normal"), ("healthy", "healthy", "healthy"), 0.0294, id="normal-cold-normal"),
        pytest.param(("dizzy", "cold", "normal"), ("fever", "healthy", "healthy"), 0.01344, id="dizzy-cold-normal"),
    ],
)
def test_best_path_and_its_probability_are_the_published_ones(seen, expected, probability):
    path, log_weight = best_path(BEFORE, published(**DOCTOR, seen=seen))

    assert path == expected
    assert log_weight == pytest.approx(log(probability), abs=1e-12)


def test_best_path_of_the_umbrella_world_and_of_rosalind_ba10c_are_the_published_ones():
    umbrella, log_weight = best_path(BEFORE, published(**UMBRELLA))
    decoded, _ = best_path(BEFORE, published(**DECODED))

    assert umbrella == ("rain", "rain", "dry", "rain", "rain")
    assert log_weight == pytest.approx(UMBRELLA_BEST_LOG, abs=5.1e-5)
    assert "".join(decoded) == "AAABBAAAAA"


def odds(random, count, *, zeros=0.0):
    """Odds that sum to one; each but the last is nought with the probability `zeros`."""
    weights = [0.0 if random.random() < zeros else random.uniform(0.05, 1.0) for _ in range(count - 1)] + [random.random() + 0.05]
    random.shuffle(weights)
    return [weight / sum(weights) for weight in weights]


def categorical(random, states):
    signs = random.randint(2, 5)
    model = CategoricalHMM(states, n_features=signs)
    model.emissionprob_ = np.array([odds(random, signs) for _ in range(states)])
    seen = [random.randrange(signs) for _ in range(random.randint(3, 30))]
    return model, np.array(seen)[:, None], [dict(enumerate(model.emissionprob_[:, sign].tolist())) for sign in seen]


def gaussian(random, states):
    normals = [NormalDist(random.uniform(-3, 3), random.uniform(0.5, 2)) for _ in range(states)]
    model = GaussianHMM(states, covariance_type="diag")
    model.n_features = 1
    model.means_ = np.array([[normal.mean] for normal in normals])
    model.covars_ = np.array([[normal.variance] for normal in normals])
    seen = [random.uniform(-4, 4) for _ in range(random.randint(3, 30))]
    return model, np.array(seen)[:, None], [{n: normal.pdf(x) for n, normal in enumerate(normals)} for x in seen]


def log_weight_of(path, start, steps):
    came_from = (start, *path[:-1])
    return sum(log(dict(moves(state))[after]) for moves, state, after in zip(steps, came_from, path, strict=True))


@pytest.mark.parametrize("draw", [categorical, gaussian])
@pytest.mark.parametrize("seed", range(24))
def test_a_random_model_gives_what_hmmlearn_gives(draw, seed):
    random = Random(seed)
    states = random.randint(2, 5)
    model, seen, likelihoods = draw(random, states)
    model.startprob_ = np.array(odds(random, states, zeros=0.2))
    model.transmat_ = np.array([odds(random, states, zeros=0.3) for _ in range(states)])
    first = dict(enumerate(model.startprob_.tolist()))
    steps = as_steps(first, [dict(enumerate(row)) for row in model.transmat_.tolist()], likelihoods)

    smoothed = smooth(BEFORE, steps)
    path, log_weight = best_path(BEFORE, steps)

    found = [[belief.get(state, 0.0) for state in range(states)] for belief in smoothed.beliefs]
    expected_log_weight, expected_path = model.decode(seen)
    assert np.array(found) == pytest.approx(model.predict_proba(seen), abs=1e-9)
    assert smoothed.log_sum == pytest.approx(model.score(seen), abs=1e-9)
    assert log_weight == pytest.approx(expected_log_weight, abs=1e-9)
    # With few signs seen, two paths can be made of the same factors: another one is right only where it weighs the same.
    same_weight = log_weight_of(path, "before", steps) == pytest.approx(expected_log_weight, abs=1e-9)
    assert path == tuple(expected_path.tolist()) or same_weight


def sparse_tables(random):
    """A start and one table of moves a step: few moves, other ones at each step, weights of any size, noughts, dead states."""
    names = "abcd"[: random.randint(2, 4)]

    def weight():
        return 0.0 if random.random() < 0.2 else 10 ** random.uniform(-6, 3)

    def table():
        return {state: {after: weight() for after in names if random.random() < 0.6} for state in names if random.random() < 0.85}

    return {state: weight() for state in names}, [table() for _ in range(random.randint(1, 5))]


def all_paths(start, tables):
    """Each possible path, the state before the first step left off, with its weight; brute force."""
    names = sorted({*start, *(after for table in tables for moves in table.values() for after in moves)})
    found = []
    for path in product(names, repeat=len(tables) + 1):
        moves = zip(tables, path[:-1], path[1:], strict=True)
        weight = start.get(path[0], 0.0) * prod(table.get(state, {}).get(after, 0.0) for table, state, after in moves)
        if weight > 0.0:
            found.append((path[1:], weight))
    return found


def moves_of(tables):
    return [lambda state, table=table: table.get(state, {}).items() for table in tables]


POSSIBLE = [seed for seed in range(120) if all_paths(*sparse_tables(Random(seed)))]
IMPOSSIBLE = [seed for seed in range(120) if seed not in POSSIBLE]


@pytest.mark.parametrize("seed", POSSIBLE)
def test_a_sparse_chain_gives_what_all_its_paths_give(seed):
    start, tables = sparse_tables(Random(seed))
    paths = all_paths(start, tables)
    total = sum(weight for _, weight in paths)

    smoothed = smooth(start, moves_of(tables))
    path, log_weight = best_path(start, moves_of(tables))

    assert len(smoothed.beliefs) == len(tables)
    for n, belief in enumerate(smoothed.beliefs):
        expected = {state: sum(weight for path, weight in paths if path[n] == state) / total for state in {*belief, *"abcd"}}
        assert {state: belief.get(state, 0.0) for state in expected} == pytest.approx(expected, rel=1e-12, abs=1e-12)
    assert smoothed.log_sum == pytest.approx(log(total), rel=1e-12, abs=1e-12)
    best, weight = max(paths, key=lambda found: found[1])
    assert path == best
    assert log_weight == pytest.approx(log(weight), rel=1e-12, abs=1e-12)


def test_the_drawn_chains_hold_many_possible_and_many_impossible_ones():
    assert len(POSSIBLE) >= 40
    assert len(IMPOSSIBLE) >= 20


@pytest.mark.parametrize("seed", IMPOSSIBLE)
def test_a_chain_without_a_path_gives_empty_beliefs_and_minus_infinity(seed):
    start, tables = sparse_tables(Random(seed))

    assert smooth(start, moves_of(tables)) == Smoothed(tuple({} for _ in tables), -inf)
    assert best_path(start, moves_of(tables)) == ((), -inf)


GOES_ON = {"a": {"a": 0.5, "b": 0.5}, "b": {"b": 1.0}}


@pytest.mark.parametrize(
    ("start", "tables"),
    [
        pytest.param({}, [GOES_ON], id="nothing-believed"),
        pytest.param({"a": 0.0}, [GOES_ON], id="start-of-weight-nought"),
        pytest.param({"a": 1.0}, [{}, GOES_ON, GOES_ON], id="dead-at-the-first-step"),
        pytest.param({"a": 1.0}, [GOES_ON, {"a": {"a": 0.0}}, GOES_ON], id="weight-nought-in-the-middle"),
        pytest.param({"a": 1.0}, [GOES_ON, GOES_ON, {}], id="dead-at-the-last-step"),
    ],
)
def test_no_possible_path_wherever_it_breaks_off(start, tables):
    assert smooth(start, moves_of(tables)) == Smoothed(tuple({} for _ in tables), -inf)
    assert best_path(start, moves_of(tables)) == ((), -inf)


def test_without_steps_there_is_no_belief_and_the_best_start_counts():
    start = {"a": 0.25, "b": 0.75}

    assert smooth(start, []) == Smoothed((), 0.0)
    assert best_path(start, []) == ((), log(0.75))


def test_a_forward_step_leaves_out_what_was_not_reached():
    (moves,) = moves_of([{"a": {"a": 0.0, "b": 0.2}, "b": {"b": 0.1}}])

    assert forward({"a": 0.5, "b": 0.5}, moves) == ({"b": 1.0}, pytest.approx(0.15, abs=1e-15))
    assert forward({"c": 1.0}, lambda state: [("a", 0.0)]) == ({}, 0.0)
    assert forward({}, moves) == ({}, 0.0)


def test_a_later_dead_end_takes_the_belief_from_the_state_that_leads_there():
    steps = moves_of([{"a": {"b": 0.9, "c": 0.1}}, {"c": {"d": 0.5}}])

    smoothed = smooth({"a": 1.0}, steps)

    assert smoothed.beliefs == ({"b": 0.0, "c": 1.0}, {"d": 1.0})
    assert best_path({"a": 1.0}, steps) == (("c", "d"), pytest.approx(log(0.05), abs=1e-15))


@pytest.mark.parametrize("size", [pytest.param(1e-200, id="tiny-weights"), pytest.param(1e200, id="huge-weights")])
def test_a_long_chain_neither_fades_nor_overflows(size):
    # Each step's state is drawn anew, so that the beliefs and both sums are known in closed form.
    steps = [lambda _: [("a", 3 * size), ("b", size)]] * 400

    smoothed = smooth({"a": 1.0}, steps)
    path, log_weight = best_path({"a": 1.0}, steps)

    assert all(belief == pytest.approx({"a": 0.75, "b": 0.25}, abs=1e-12) for belief in smoothed.beliefs)
    assert smoothed.log_sum == pytest.approx(400 * log(4 * size), rel=1e-12)
    assert path == ("a",) * 400
    assert log_weight == pytest.approx(400 * log(3 * size), rel=1e-12)


def test_a_state_whose_share_is_below_the_smallest_float_is_given_up():
    steps = moves_of([{"a": {"a": 1e10}, "b": {"b": 1.0}}, {"a": {"c": 1e-200}, "b": {"c": 1e200}}])

    smoothed = smooth({"a": 1.0, "b": 1e-320}, steps)

    assert smoothed.beliefs == ({"a": 1.0}, {"c": 1.0})
