package main

import "slices"

// sciences is the table of what 'bayhold compute' runs.
func sciences() []science { return slices.Concat(airSciences(), filmSciences(), jobSciences()) }
