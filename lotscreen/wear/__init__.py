"""The wear-adjusted weight distribution: density, fit, pooling over dates."""

from lotscreen.wear.fit import Fit, fit
from lotscreen.wear.type_fit import GaugeFit, TypeFit

__all__ = ["Fit", "GaugeFit", "TypeFit", "fit"]
