package simcar

const hexDigits = "0123456789ABCDEF"

// put says the lines of a frame as the settings lay them out:
//
//	headers on, CAN      7E8 04 41 0C 1A F8 …     the frame as received
//	headers on, older    48 6B 10 41 0C 1A F8 22  the message as received
//	headers off, short   41 0C 1A F8
//	headers off, long    014 / 0: 49 02 … / 1: …
//
// It returns whether the frame did not get out whole.
func (x *exchange) put(f *frame) (damaged bool) {
	d, c := x.d, x.d.chip
	from := len(d.out)
	switch {
	case x.row.kind != busCAN && c.headers:
		d.hex(f.legacy...)
	case x.row.kind != busCAN:
		d.hex(f.legacy[3 : len(f.legacy)-1]...)
	case c.headers:
		x.putHeader(f)
		d.hex(f.can[:x.visible(f)]...)
	case !c.format:
		d.hex(f.can[:]...)
	default:
		from = x.putFormatted(f)
	}
	return x.endLine(from)
}

// visible is how many bytes of a CAN frame are shown.
func (x *exchange) visible(f *frame) int {
	if x.d.sim.profile.CutPadding && x.d.chip.format {
		return f.valid
	}
	return len(f.can)
}

// putHeader puts the id, and the length code after AT D1.
func (x *exchange) putHeader(f *frame) {
	x.d.putID(f.id, x.row.extended)
	if x.d.chip.lengths {
		x.d.out = append(x.d.out, '8')
		x.d.space()
	}
}

// putID puts a CAN id as a header shows it.
func (w *wire) putID(id uint32, extended bool) {
	if extended {
		w.hex(byte(id>>24), byte(id>>16), byte(id>>8), byte(id))
		return
	}
	w.out = append(w.out, hexDigits[id>>8&0xF], hexDigits[id>>4&0xF], hexDigits[id&0xF])
	w.space()
}

// putFormatted puts the data of a frame without header: a long message begins with a
// line of its length, and each of its lines with a digit. It returns where the last line
// begins.
func (x *exchange) putFormatted(f *frame) (from int) {
	d := x.d
	from = len(d.out)
	last := x.visible(f)
	switch f.can[0] & 0xF0 {
	case singleFrame:
		d.hex(f.can[1:f.valid]...)
		return from
	case firstFrame:
		if !d.sim.profile.NoLengthLine {
			d.out = append(d.out, hexDigits[f.can[0]&0xF], hexDigits[f.can[1]>>4], hexDigits[f.can[1]&0xF])
			d.eol()
			from = len(d.out)
		}
		d.out = append(d.out, '0', ':')
		d.space()
		d.hex(f.can[2:]...)
	default:
		d.out = append(d.out, hexDigits[f.can[0]&0xF], ':')
		d.space()
		d.hex(f.can[1:last]...)
	}
	return from
}

// endLine lets the fault of this exchange work on the line and ends it; it sees that no
// more is put out than the adapter's buffer holds.
func (x *exchange) endLine(from int) (damaged bool) {
	d := x.d
	if d.mangle != nil {
		line := append([]byte(nil), d.out[from:]...)
		d.out = append(d.out[:from], d.mangle(line)...)
		damaged = true
	}
	if d.room >= 0 {
		if n := len(d.out) - from; n > d.room {
			d.out = d.out[:from+d.room]
			d.eol()
			d.say("BUFFER FULL")
			x.full = true
			return true
		}
		d.room -= len(d.out) - from
	}
	d.eol()
	return damaged
}
