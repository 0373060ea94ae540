package simcar

import "time"

// heardFrames are the frames of the traffic that the adapter can hear, from some time on.
type heardFrames struct {
	next  func() (BusFrame, bool)
	frame BusFrame // the next one
	more  bool     // there is one
}

// frames are those from t on; none behind a gateway, or where the adapter is on another bus.
func (d *dialogue) frames(t time.Duration) (h heardFrames) {
	s := d.sim
	row, car := d.chip.protocol.row(), s.bus.row()
	if s.traffic == nil || s.gateway || row.kind != busCAN || car.kind != busCAN || row.kbit != car.kbit {
		return h
	}
	h.next = s.traffic.From(t)
	h.forward()
	return h
}

func (h *heardFrames) forward() { h.frame, h.more = h.next() }

// frameLine is the line of a frame that nobody asked for, laid out as the settings want it. With
// formatting on, a frame whose first byte is no control byte of ISO 15765-2 is marked.
func (d *dialogue) frameLine(f *BusFrame, row *protocolRow) []byte {
	from := len(d.out)
	if d.chip.headers {
		d.putID(f.ID, row.extended)
		if d.chip.lengths {
			d.out = append(d.out, hexDigits[len(f.Data)])
			d.space()
		}
	}
	d.hex(f.Data...)
	if d.chip.format && (len(f.Data) == 0 || f.Data[0] > 0x3F) {
		d.out = append(d.out, "<DATA ERROR"...)
	}
	d.eol()
	text := append([]byte(nil), d.out[from:]...)
	d.out = d.out[:from]
	return text
}

// showUnasked shows the first frame until then that nobody asked for and that the filter lets pass:
// the chip shows what passes, whoever sent it, and waits for more (ELM327 data sheet, AT CF and AT CM).
// That is so where a filter is set by hand; the one of its own lets replies alone pass.
func (x *exchange) showUnasked(until time.Duration) (shown bool, err error) {
	d, h := x.d, &x.unasked
	if !d.chip.filterSet {
		return false, nil
	}
	for ; h.more && h.frame.At <= until; h.forward() {
		f := h.frame
		if f.At < x.clock || f.Extended != x.row.extended || !d.chip.filter.passes(f.ID) || !d.sim.ignition() {
			continue
		}
		if err := x.waitUntil(f.At); err != nil {
			return false, err
		}
		x.shown++
		x.messages++
		x.deadline = x.clock + x.patience()
		d.out = append(d.out, d.frameLine(&f, x.row)...)
		h.forward()
		return true, d.flush()
	}
	return false, nil
}
