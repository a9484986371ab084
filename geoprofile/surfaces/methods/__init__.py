"""Methods that turn observations into predictions; each enters through the group geoprofile.methods."""
