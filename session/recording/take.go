package recording

// take counts a sound line and takes over what it holds.
func (r *Reader) take(number int) seen {
	d := &r.damage
	if r.line.kind != lineHeader && d.Ended {
		d.AfterEnd++
	}
	switch r.line.kind {
	case lineEntry:
		r.takeEntry(number)
		return sawEntry
	case lineHeader:
		return sawHeader
	case lineAbout:
		r.header.add(&r.line.about)
	case lineEnd:
		if !d.Ended {
			d.Ended, r.end = true, r.line.end
		}
	default:
		d.Unknown++
		r.countEntry(false)
	}
	return sawOther
}

// countEntry counts an entry, to be compared with the end record.
func (r *Reader) countEntry(exchange bool) {
	if r.damage.Ended {
		return
	}
	r.entries++
	if exchange {
		r.exchanges++
	}
}

// takeEntry counts r.entry, checks its place in time and closes the gaps before it.
func (r *Reader) takeEntry(number int) {
	d, at, kind := &r.damage, r.entry.At, r.entry.Kind
	r.countEntry(kind == KindExchange)
	if at < r.lastOf[kind] || at < d.Last-orderSlack {
		if d.Backwards == 0 {
			d.FirstBackwards = number
		}
		d.Backwards++
	}
	r.lastOf[kind] = at
	d.Last = max(d.Last, at)
	for ; r.openBad < len(d.Bad); r.openBad++ {
		d.Bad[r.openBad].Before = d.Last
	}
}

// finish compares what was read with the end record.
func (r *Reader) finish() {
	r.finished = true
	if !r.damage.Ended {
		return
	}
	r.damage.Counted = r.end.Entries
	r.damage.Missing = r.end.Entries - r.entries
	r.damage.MissingExchanges = r.end.Exchanges - r.exchanges
	r.damage.Stopped, r.damage.Why = r.end.Broken, r.end.Why
}
