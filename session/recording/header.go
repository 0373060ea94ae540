package recording

import (
	"maps"
	"slices"
	"strconv"
	"time"
)

// Format and Version are how the first line of a file shows what it is. Version rises only
// when an older reader would misread the file; new fields and kinds do not raise it.
// Revision rises when a new field or kind holds what older files have in words.
const (
	Format   = "judder recording"
	Version  = 1
	Revision = 2
)

// checkRevision is the first revision with lines of the kind "check".
const checkRevision = 2

// Header is what is known of a session: what the first line has, together with what later about
// lines added. Texts that are not known are "".
type Header struct {
	Start    time.Time         // wall clock at the start of the session; zero when not known
	Adapter  string            // the adapter's own words on what it is
	Protocol string            // the bus protocol, as the adapter describes it
	Port     string            // port or address
	Program  string            // version of the program that wrote the file
	VIN      string            // only when the user asked for it
	Extra    map[string]string // anything else
}

// About is what became known of the session after its start. Empty texts change nothing.
type About struct {
	At       time.Duration // when it became known
	Adapter  string
	Protocol string
	VIN      string
	Extra    map[string]string
}

// End is what the last line holds. Without one the recording goes on, or was broken off.
type End struct {
	Entries   int           // entries written before it
	Exchanges int           // how many of them were exchanges
	Duration  time.Duration // latest At among them
	Why       string        // why the session ended, in words
	Broken    bool          // the recording stopped before the session did
}

// Reasons for an end, for the common cases; any other words will do.
const (
	WhyUser       = "user ended"
	WhyHangUp     = "window closed or connection lost"
	WhyTerminated = "told to end (SIGTERM)"
	WhyTime       = "time up"
	WhyLinkLost   = "link lost"
	WhyDiskFull   = "disk full"
	WhyWriteError = "write error"
)

// add takes over what an about line holds.
func (h *Header) add(a *About) {
	setIf(&h.Adapter, a.Adapter)
	setIf(&h.Protocol, a.Protocol)
	setIf(&h.VIN, a.VIN)
	if len(a.Extra) > 0 && h.Extra == nil {
		h.Extra = make(map[string]string, len(a.Extra))
	}
	maps.Copy(h.Extra, a.Extra)
}

func setIf(dst *string, s string) {
	if s != "" {
		*dst = s
	}
}

// headerLine makes the sealed first line.
func headerLine(h *Header) []byte {
	b := []byte(`{"k":"header","format":"` + Format + `","version":`)
	b = strconv.AppendInt(b, Version, 10)
	b = append(b, `,"revision":`...)
	b = strconv.AppendInt(b, Revision, 10)
	if y := h.Start.Year(); y > 1 && y <= 9999 { // RFC 3339 has four digits for the year
		b = append(b, `,"start":"`...)
		b = h.Start.AppendFormat(b, time.RFC3339Nano)
		b = append(b, '"')
	}
	b = appendField(b, "adapter", h.Adapter)
	b = appendField(b, "protocol", h.Protocol)
	b = appendField(b, "port", h.Port)
	b = appendField(b, "program", h.Program)
	b = appendField(b, "vin", h.VIN)
	return seal(appendExtra(b, h.Extra))
}

func appendAbout(b []byte, a *About) []byte {
	b = append(b, `{"k":"about","t":`...)
	b = appendMicros(b, a.At)
	b = appendField(b, "adapter", a.Adapter)
	b = appendField(b, "protocol", a.Protocol)
	b = appendField(b, "vin", a.VIN)
	return seal(appendExtra(b, a.Extra))
}

func appendEnd(b []byte, e *End) []byte {
	b = append(b, `{"k":"end","entries":`...)
	b = strconv.AppendInt(b, int64(e.Entries), 10)
	b = append(b, `,"exchanges":`...)
	b = strconv.AppendInt(b, int64(e.Exchanges), 10)
	b = append(b, `,"duration_us":`...)
	b = appendMicros(b, e.Duration)
	b = append(b, `,"why":`...)
	b = appendText(b, e.Why)
	if e.Broken {
		b = append(b, `,"broken":true`...)
	}
	return seal(b)
}

func appendField(b []byte, key, text string) []byte {
	if text == "" {
		return b
	}
	b = append(b, `,"`...)
	b = append(b, key...)
	b = append(b, `":`...)
	return appendText(b, text)
}

// appendExtra writes the free fields in the order of their names, so that equal headers
// make equal lines.
func appendExtra(b []byte, extra map[string]string) []byte {
	if len(extra) == 0 {
		return b
	}
	b = append(b, `,"extra":{`...)
	for i, key := range slices.Sorted(maps.Keys(extra)) {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendText(b, key)
		b = append(b, ':')
		b = appendText(b, extra[key])
	}
	return append(b, '}')
}
