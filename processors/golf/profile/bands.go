package profile

import "fairlead/ingest/contract/glossary"

// Band is a range of a term in the words of the trade, with how probable it is
// that the player's true value lies in it.
type Band struct {
	Name string
	Prob float64
}

// scale names ranges from low to high: names[i] lies below cuts[i], the last
// name above the last cut.
type scale struct {
	names []string
	cuts  []float64
}

// Words to talk about swings with, never to decide with: models take the
// numbers. The cuts are conventions of this package.
var (
	pathBands    = scale{[]string{"well out-to-in", "out-to-in", "neutral path", "in-to-out", "well in-to-out"}, []float64{-5, -2, 2, 5}}
	faceBands    = scale{[]string{"closed to target", "square", "open to target"}, []float64{-1.5, 1.5}}
	ftpBands     = scale{[]string{"closed to path", "square to path", "open to path"}, []float64{-1.5, 1.5}}
	strikeXBands = scale{[]string{"heel strike", "centred", "toe strike"}, []float64{-0.006, 0.006}}
	strikeYBands = scale{[]string{"low on the face", "mid-face", "high on the face"}, []float64{-0.005, 0.005}}
	strikeSpread = scale{[]string{"tight strike", "usual strike", "wide strike"}, []float64{0.007, 0.012}}
	tempoBands   = scale{[]string{"quick tempo", "even tempo", "slow tempo"}, []float64{2.7, 3.3}}
	speedNames   = []string{"slow", "moderate", "quick", "fast"}
	loftNames    = []string{"delofted", "usual loft", "lofted"}
	attackUp     = []string{"steep", "downward", "level", "upward", "well upward"}
	attackDown   = []string{"steep", "downward", "shallow", "upward"}
)

// bands holds what depends on the club: speed in m/s, attack and dynamic loft
// in degrees.
var bands = map[glossary.Category]map[Term]scale{
	glossary.Driver: {Speed: {speedNames, []float64{35.8, 41.6, 47.8}}, Attack: {attackUp, []float64{-4, -1, 1, 4}},
		DynamicLoft: {loftNames, []float64{11, 16}}},
	glossary.Wood: {Speed: {speedNames, []float64{33.5, 38.9, 44.7}}, Attack: {attackUp, []float64{-5, -2, 0.5, 3}},
		DynamicLoft: {loftNames, []float64{11, 17}}},
	glossary.Hybrid: {Speed: {speedNames, []float64{31.3, 36.2, 41.6}}, Attack: {attackDown, []float64{-6, -3, 0}},
		DynamicLoft: {loftNames, []float64{15, 21}}},
	glossary.Iron: {Speed: {speedNames, []float64{28.2, 32.6, 37.1}}, Attack: {attackDown, []float64{-6, -3, 0}},
		DynamicLoft: {loftNames, []float64{22, 29}}},
	glossary.Wedge: {Speed: {speedNames, []float64{26.4, 30.4, 34.4}}, Attack: {attackDown, []float64{-7, -4, -1}},
		DynamicLoft: {loftNames, []float64{38, 47}}},
}

func scaleOf(c glossary.Category, t Term) (scale, bool) {
	if s, ok := bands[c][t]; ok {
		return s, true
	}
	s, ok := map[Term]scale{
		Path: pathBands, Face: faceBands, FaceToPath: ftpBands, StrikeX: strikeXBands, StrikeY: strikeYBands,
		StrikeScatter: strikeSpread, Tempo: tempoBands,
	}[t]
	return s, ok
}

// Bands returns the bands of a term, low to high, with their probabilities,
// which add up to 1; nil while the term is not known.
func (p Profile) Bands(t Term) []Band {
	e := p.Get(t)
	s, ok := scaleOf(p.Category, t)
	if !ok || !e.Known {
		return nil
	}
	var out []Band
	below := 0.0
	for i, name := range s.names {
		up := 1.0
		if i < len(s.cuts) {
			up = max(below, e.Below(s.cuts[i]))
		}
		out = append(out, Band{name, up - below})
		below = up
	}
	return out
}

// Likeliest returns the most probable band of a term; false while not known.
func (p Profile) Likeliest(t Term) (Band, bool) {
	var best Band
	all := p.Bands(t)
	for _, b := range all {
		if b.Prob > best.Prob {
			best = b
		}
	}
	return best, len(all) > 0
}
