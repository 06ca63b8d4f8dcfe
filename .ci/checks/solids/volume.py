"""Prints the volume of an STL file, by numpy-stl in double precision sums."""
import sys
import warnings

warnings.simplefilter("ignore")
from stl import mesh  # noqa: E402

print(mesh.Mesh.from_file(sys.argv[1]).get_mass_properties()[0])
