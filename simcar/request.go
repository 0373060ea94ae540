package simcar

import (
	"errors"
)

// chokedRoom is how many characters get out before a BufferFull fault.
const chokedRoom = 8

// request runs one line that is not an AT command: hexadecimal for the car.
func (d *dialogue) request(text string) error {
	data, limit, ok := d.parse(text)
	if !ok {
		return d.finish("?")
	}
	d.noteService(data)
	f, struck := d.nextFault(false)
	if struck {
		if done, err := d.strikeBefore(f); done || err != nil {
			return err
		}
	}
	d.busy = true
	err := d.ask(data, limit)
	d.busy = false
	d.mangle, d.choked = nil, false
	if errors.Is(err, errStopped) {
		return d.finish("STOPPED")
	}
	if err != nil {
		return err
	}
	if struck {
		if done, err := d.strikeAfter(f); done || err != nil {
			return err
		}
	}
	return d.finish("")
}

// ask wakes the bus if need be and puts the request on it.
func (d *dialogue) ask(data []byte, limit int) error {
	d.room = -1
	if d.sim.profile.Buffer > 0 {
		d.room = d.sim.profile.Buffer
	}
	if d.choked {
		d.room = chokedRoom
	}
	ok, err := d.connect()
	if err != nil || !ok {
		return err
	}
	if err := d.flush(); err != nil { // SEARCHING... is seen while the car is asked
		return err
	}
	if err := d.exchange.run(d, data, limit); err != nil {
		return err
	}
	return d.flush()
}

// parse reads hexadecimal digits; one left over is the number of replies to wait for
// (ELM327 data sheet p.90).
func (d *dialogue) parse(text string) (data []byte, limit int, ok bool) {
	if !isHex(text) || len(text) < 2 {
		return nil, 0, false
	}
	p := &d.sim.profile
	if len(text)%2 != 0 {
		digit := hexValue(text[len(text)-1])
		text = text[:len(text)-1]
		switch p.Digit {
		case DigitCountsMessages, DigitCountsFrames:
			limit = int(digit)
		case DigitSent:
			data, ok = pairs(text)
			data = append(data, digit)
		}
	}
	if data == nil {
		data, ok = pairs(text)
	}
	if p.MaxRequest > 0 && len(data) > p.MaxRequest {
		data = data[:p.MaxRequest]
	}
	row := d.chip.protocol.row()
	most := row.maxData(d.chip.long)
	if !d.chip.format && row.kind == busCAN {
		most = 8
	}
	return data, limit, ok && len(data) <= most
}

// noteService counts a request by its service.
func (d *dialogue) noteService(data []byte) {
	if !d.chip.format && d.chip.protocol.row().kind == busCAN {
		payload, ok := singlePayload(data)
		if !ok {
			return
		}
		data = payload
	}
	d.sim.mu.Lock()
	defer d.sim.mu.Unlock()
	d.sim.log.asked[data[0]]++
}
