package tag

// Holds says whether the Bay has the entry's tag in memory. What it does not
// hold it reports again, as a change, when it needs it.
func (b *Bay) Holds(k Key) bool {
	_, ok := b.emitted[k]
	return ok
}
