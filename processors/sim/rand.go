package sim

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"math/rand/v2"
)

// source returns random numbers that depend on the seed and the words only.
func source(seed uint64, words ...string) *rand.Rand {
	h := sha256.New()
	binary.Write(h, binary.LittleEndian, seed)
	for _, w := range words {
		binary.Write(h, binary.LittleEndian, uint32(len(w)))
		h.Write([]byte(w))
	}
	sum := h.Sum(nil)
	return rand.New(rand.NewPCG(binary.LittleEndian.Uint64(sum), binary.LittleEndian.Uint64(sum[8:])))
}

// normal draws from N(mean, sd²).
func normal(r *rand.Rand, mean, sd float64) float64 { return mean + sd*r.NormFloat64() }

// within draws from N(mean, sd²) cut at low and high.
func within(r *rand.Rand, mean, sd, low, high float64) float64 {
	return min(high, max(low, normal(r, mean, sd)))
}

func chance(r *rand.Rand, p float64) bool { return r.Float64() < p }

func pick[T any](r *rand.Rand, of []T) T { return of[r.IntN(len(of))] }

func between(r *rand.Rand, low, high int) int { return low + r.IntN(high-low+1) }

func round(x float64, decimals int) float64 {
	p := math.Pow10(decimals)
	return math.Round(x*p)/p + 0 // never -0
}
