"""How fast many paddles are judged on one motion, and how time and memory grow with their number.

    python benchmarks/many_paddles.py

The peer is the torque at every instant of the cycle for each paddle, one matrix product and its
mean square, which the Gram matrix makes needless.
"""

import tracemalloc

import numpy as np
from quickest import quickest

from paddlebal import OCEAN, data_path, gram_matrix, load_paddle, mean_square_many, motion_rows
from paddlebal.motion_balance.rows import properties_of

COUNTS = (1_000, 10_000, 100_000)


def most_bytes(action):
    tracemalloc.start()
    action()
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return most


def main():
    paddle = load_paddle(data_path("paddles", "ocean.toml"))
    rows = motion_rows([OCEAN.motion(paddle)])
    gram, own = gram_matrix(rows), properties_of(paddle)
    rng = np.random.default_rng(0)
    print("  paddles   paddles/s   against every instant   bytes a paddle")
    taken = []
    for count in COUNTS:
        many = own * (1 + 0.1 * rng.standard_normal((count, own.size)))
        fast = quickest(lambda many=many: mean_square_many(many, gram))
        slow = quickest(lambda many=many: np.sqrt(np.mean((many @ rows) ** 2, axis=1)))
        memory = most_bytes(lambda many=many: mean_square_many(many, gram))
        taken.append(fast)
        print(f"{count:9,} {count / fast:11,.0f} {slow / fast:19.0f} × {memory / count:14.0f}")
    growth = np.polyfit(np.log(COUNTS), np.log(taken), 1)[0]
    print(f"time grows as the number to the power {growth:.2f}")


if __name__ == "__main__":
    main()
