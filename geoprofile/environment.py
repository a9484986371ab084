"""Keep foreign projection settings out of our process.

Other programs set PROJ_DATA, PROJ_LIB or GDAL_DATA to their own copies; read
here, they give wrong or missing databases. Results must not depend on a network
either. Imported before any geospatial library.
"""

from __future__ import annotations

import os
import warnings

for _name in ("PROJ_DATA", "PROJ_LIB", "GDAL_DATA", "GDAL_DRIVER_PATH"):
    os.environ.pop(_name, None)
os.environ["PROJ_NETWORK"] = "OFF"
# GDAL keeps 5 % of the machine's memory by default: what a run takes would depend on the machine (T15)
os.environ.setdefault("GDAL_CACHEMAX", "64")
# rasterio silences this about its own arrays in memory, but not where two threads burn polygons at once
warnings.filterwarnings("ignore", message="Dataset has no geotransform, gcps, or rpcs")
