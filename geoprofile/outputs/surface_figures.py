"""Writer ``figures``: what a surface rests on and how well it holds, drawn (in work)."""
from ..products import OutputFile
from .bundle import Bundle

what = "figures/: variogram, predicted against measured, coverage and residuals of each surface"
def write(bundle: Bundle) -> tuple[OutputFile, ...]:
    return ()
