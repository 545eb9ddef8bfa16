package tag

// Holds says whether the Bay has the entry's tag in memory. What it does not
// hold it reports again, as a change, when it needs it.
func (b *Bay) Holds(k Key) bool {
	s := b.shots[k.ID]
	if s == nil {
		return false
	}
	for i := range s.facts {
		if s.facts[i].Key == k {
			return s.facts[i].said != nil
		}
	}
	return false
}
