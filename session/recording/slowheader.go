package recording

import (
	"encoding/json"
	"time"
)

// header reads a first line. It gives an error, kept in f, on another format or version:
// ErrNotRecording or ErrNewer.
func (f *fields) header() Header {
	var version int
	format := f.str("format")
	f.get("version", &version)
	switch {
	case f.err != nil:
	case format != Format || version < 1:
		f.err = ErrNotRecording
	case version > Version:
		f.err = ErrNewer
	}
	h := Header{
		Adapter: f.text("adapter"), Protocol: f.text("protocol"), Port: f.text("port"),
		Program: f.text("program"), VIN: f.text("vin"), Extra: f.extra(),
	}
	if f.has("start") {
		start, err := time.Parse(time.RFC3339Nano, f.str("start"))
		if err != nil {
			f.fail("start", "is not a time as in RFC 3339")
		}
		h.Start = start
	}
	return h
}

// older reports whether the file is of a revision before that of code checks.
func (f *fields) older() bool {
	if !f.has("revision") {
		return true
	}
	var revision int
	f.get("revision", &revision)
	return revision < checkRevision
}

func (f *fields) about() About {
	return About{
		At: f.micros("t"), Adapter: f.text("adapter"), Protocol: f.text("protocol"),
		VIN: f.text("vin"), Extra: f.extra(),
	}
}

func (f *fields) end() End {
	e := End{Duration: f.micros("duration_us"), Why: f.text("why")}
	f.get("entries", &e.Entries)
	f.get("exchanges", &e.Exchanges)
	if f.has("broken") {
		f.get("broken", &e.Broken)
	}
	if e.Entries < 0 || e.Exchanges < 0 || e.Exchanges > e.Entries {
		f.fail("entries", "does not fit the exchanges")
	}
	return e
}

// extra gives the free fields; one that is no text is kept as the JSON it is.
func (f *fields) extra() map[string]string {
	if !f.has("extra") {
		return nil
	}
	var free map[string]json.RawMessage
	f.get("extra", &free)
	if len(free) == 0 {
		return nil
	}
	extra := make(map[string]string, len(free))
	for key, raw := range free {
		var s string
		if json.Unmarshal(raw, &s) != nil {
			s = string(raw)
		}
		extra[cleanText(key)] = cleanText(s)
	}
	return extra
}
