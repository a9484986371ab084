"""Keep foreign projection settings out of our process.

Other programs set PROJ_DATA, PROJ_LIB or GDAL_DATA to their own copies; read
here, they give wrong or missing databases. Results must not depend on a network
either. Imported before any geospatial library.
"""

from __future__ import annotations

import os

for _name in ("PROJ_DATA", "PROJ_LIB", "GDAL_DATA", "GDAL_DRIVER_PATH"):
    os.environ.pop(_name, None)
os.environ["PROJ_NETWORK"] = "OFF"
