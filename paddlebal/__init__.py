"""Roll balance of wing paddles: measure the unbalance, place a counterweight, show the cost.

SI units throughout. The names below load their modules when first used, so that importing
the package costs no more than numpy.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
