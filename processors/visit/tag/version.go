package tag

// Bits of the parts of a version, from the low end.
const (
	regionBits = 24
	mateBits   = 12
	eventBits  = 64 - regionBits - mateBits
)

// Version makes the version of a tag from what was known when it was computed:
// the distinct events of the bay, the distinct entries of the same shot, and,
// for an entry that stands for a hit, the distinct entries of its region (see
// DESIGN.md; 0 for the others). The earlier part outweighs the later, so more
// knowledge never gives a smaller version, and other tags from more knowledge
// give a greater one. A part that outgrows its bits stays at their maximum.
func Version(events, mates, region int) uint64 {
	part := func(n, bits int) uint64 { return uint64(min(max(n, 0), 1<<bits-1)) }
	return part(events, eventBits)<<(regionBits+mateBits) | part(mates, mateBits)<<regionBits | part(region, regionBits)
}
