package sim

import "slices"

// Everything here is invented.

var heads = map[string][]string{
	"driver": {"Tern 460", "Gannet", "Fulmar Max", "Skua LS"},
	"wood":   {"Tern F", "Gannet F", "Petrel"},
	"hybrid": {"Dunlin", "Knot", "Sanderling"},
	"iron":   {"Heron CB", "Heron MB", "Avocet", "Curlew"},
	"wedge":  {"Plover 50", "Plover Wide", "Whimbrel"},
	"putter": {"Mole", "Causeway", "Breakwater", "Bollard"},
}

// shaft is an invented shaft; weight in kg for a driver, torque in deg.
type shaft struct {
	model  string
	weight float64
	flex   float64
	torque float64
}

var shafts = []shaft{
	{"Osier", 0.048, 1, 5.6}, {"Osier", 0.052, 2, 5.2}, {"Withy", 0.058, 2, 4.6}, {"Withy", 0.062, 3, 4.2},
	{"Rowan", 0.066, 3, 3.7}, {"Rowan", 0.072, 4, 3.3}, {"Hornbeam", 0.078, 4, 3.0},
}

var firstNames = []string{"Ada", "Bram", "Cleo", "Dov", "Esme", "Finn", "Greta", "Hugo", "Isla", "Jonas", "Kit", "Lena", "Milo", "Nora",
	"Otto", "Pia", "Quin", "Rosa", "Sami", "Thea", "Uma", "Viggo", "Wren", "Yara"}
var lastNames = []string{"Ashdown", "Birchall", "Coombe", "Dalby", "Elmhirst", "Fenwick", "Garside", "Holloway", "Ingram", "Jessop",
	"Kirkby", "Lindale", "Marlow", "Norbury", "Oakes", "Penhale", "Ridley", "Sallow", "Thornby", "Wharton"}

var aims = []string{
	"wants the left miss gone", "longer, if it stays straight", "lower flight into the wind", "new irons, the old ones feel light",
	"has lost ten metres in two years", "softer landing on firm greens", "came back from a shoulder injury, wants something easy to swing",
}

// puttAims are what players come for with a putter.
var puttAims = []string{
	"wants the left miss gone", "putts come up short on slow greens", "the ball bounces at first", "lower head, easier to line up",
	"too many three-putts", "new putter, the old one feels light", "pain in the back, wants to stand taller",
}

// aimsOf are what players come for with a kind of club.
func aimsOf(category string) []string {
	switch category {
	case "putter":
		return puttAims
	case "iron":
		return aims
	}
	out := append([]string(nil), aims...)
	out[3] = "the old one feels light"
	return out
}

var feels = []string{"light in the head", "like a plank", "smooth", "know where the face is", "sounds dull", "comes out low", "easy",
	"too whippy", "best so far", "harsh off the toe"}

// liked and disliked are the words that say of themselves whether a club is liked.
var liked = []string{"smooth", "know where the face is", "easy", "best so far", "rolls out sooner", "sits square", "easy to aim"}
var disliked = []string{"like a plank", "sounds dull", "too whippy", "harsh off the toe", "face wants to open", "too light in the hands"}

// liking is as strong as it was drawn, and on the side of the words.
func liking(words string, drawn int32) int32 {
	switch strong := max(drawn, -drawn); {
	case slices.Contains(liked, words):
		return strong
	case slices.Contains(disliked, words):
		return -strong
	}
	return drawn
}

var swingWords = []string{"turn the chest through", "hold the finish", "slower back", "feel the hands lead"}
var setupWords = []string{"ball one ball further forward", "stand half a step closer", "lighter grip pressure", "tee it lower"}

var puttFeels = []string{"rolls out sooner", "face wants to open", "sits square", "too light in the hands", "easy to aim"}
