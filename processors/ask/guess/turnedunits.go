package guess

// turnedUnits looks for units by which the shots go together once a field or two
// with sides count the other way round: one that is turned must not make every
// unit doubtful. It leaves units and sides as they go together, or as they were.
func (d *draft) turnedUnits(groups []group, cost func() float64) bool {
	var open []*Field
	for _, f := range d.fields {
		if f.info.Mirrors && f.Positive == nil && stated(f.Column) == 0 {
			open = append(open, f)
		}
	}
	if len(open) < 2 || len(open) > 7 {
		return false
	}
	was := snapshot(groups)
	least, units, turned := cost(), was, []*Field(nil)
	for i := range open {
		for j := i; j < len(open); j++ {
			flip := []*Field{open[i]}
			if j > i {
				flip = append(flip, open[j])
			}
			invert(flip)
			restore(was)
			if c := d.searched(groups, cost); c < least-1e-9 {
				least, units, turned = c, snapshot(groups), flip
			}
			invert(flip)
		}
	}
	restore(was)
	if least > broken {
		return false
	}
	restore(units)
	invert(turned)
	return true
}

func invert(fields []*Field) {
	for _, f := range fields {
		f.Invert = !f.Invert
	}
}
