package table

import (
	"strings"
	"time"
)

// clock is a time of day or a time since something, as digits with colons:
//
//	h:mm:ss  h:mm:ss.fff  h:mm:ss,fff  h:mm:ss:fff  mm:ss.fff   each with am or pm, Z, ±hh, ±hh:mm or ±hhmm after it
//
// and the text before it, which is a date or nothing.
type clock struct {
	date   string
	of     time.Duration // since midnight, or since the hour
	period time.Duration // after which it begins again: a day, or an hour for mm:ss.fff
	zoned  bool
	zone   time.Duration // east of Greenwich
}

// parseClock takes a cell apart. ok is false where it holds no such time.
func parseClock(cell string) (c clock, ok bool) {
	if d, rest, basic := basicISO(cell); basic {
		cell = d + "T" + rest
	}
	colon := strings.IndexByte(cell, ':')
	if colon < 0 {
		return c, false
	}
	begin := colon
	for begin > 0 && isDigit(cell[begin-1]) {
		begin--
	}
	c.date = strings.TrimRight(cell[:begin], " T\u00a0,")
	text, half := cutHalf(cell[begin:])
	text, c.zone, c.zoned, ok = cutZone(text)
	if !ok {
		return c, false
	}
	text, fraction, hasFraction := cutFraction(text)
	parts := strings.Split(text, ":")
	var numbers [3]int
	if len(parts) > 3 || len(parts) < 2 {
		return c, false
	}
	for i, p := range parts {
		n, isNumber := digits(p, 3)
		if !isNumber || i > 0 && (n > 59 || len(p) != 2) {
			return c, false
		}
		numbers[3-len(parts)+i] = n
	}
	c.period = 24 * time.Hour
	if len(parts) == 2 {
		if !hasFraction { // hours and minutes, or minutes and seconds?
			return c, false
		}
		c.period = time.Hour
	}
	hour := numbers[0]
	switch {
	case half != "" && (hour < 1 || hour > 12):
		return c, false
	case half != "":
		hour = hour%12 + map[string]int{"am": 0, "pm": 12}[half]
	case c.date != "" && hour > 23:
		return c, false
	}
	c.of = time.Duration(hour)*time.Hour + time.Duration(numbers[1])*time.Minute + time.Duration(numbers[2])*time.Second + fraction
	return c, true
}

// basicISO takes YYYYMMDDThhmmss apart and gives the time its colons.
func basicISO(cell string) (date, rest string, ok bool) {
	const dateLen, timeLen = 8, 15
	if len(cell) < timeLen || cell[dateLen] != 'T' && cell[dateLen] != ' ' {
		return "", "", false
	}
	date, at := cell[:dateLen], cell[dateLen+1:]
	if _, ok := digits(date, dateLen); !ok {
		return "", "", false
	}
	if _, ok := digits(at[:6], 6); !ok {
		return "", "", false
	}
	return date, at[:2] + ":" + at[2:4] + ":" + at[4:], true
}

// cutHalf takes am or pm off the end.
func cutHalf(text string) (rest, half string) {
	lower := strings.ToLower(strings.ReplaceAll(text, ".m.", "m"))
	for _, h := range []string{"am", "pm"} {
		if before, found := strings.CutSuffix(lower, h); found {
			return strings.TrimSpace(before), h
		}
	}
	return text, ""
}

// cutZone takes a time zone off the end.
func cutZone(text string) (rest string, zone time.Duration, zoned, ok bool) {
	for _, name := range []string{"Z", "z", "UTC", "GMT"} {
		if before, found := strings.CutSuffix(text, name); found {
			return strings.TrimSpace(before), 0, true, true
		}
	}
	sign := strings.LastIndexAny(text, "+-")
	if sign < 0 {
		return text, 0, false, true
	}
	at := strings.ReplaceAll(text[sign+1:], ":", "")
	n, isNumber := digits(at, 4)
	if len(at) == 2 {
		n *= 100
	}
	if !isNumber || len(at) != 2 && len(at) != 4 || n/100 > 14 || n%100 > 59 {
		return "", 0, false, false
	}
	zone = time.Duration(n/100)*time.Hour + time.Duration(n%100)*time.Minute
	if text[sign] == '-' {
		zone = -zone
	}
	return strings.TrimSpace(text[:sign]), zone, true, true
}

// cutFraction takes the part of a second off the end: after a point, a comma, or a third colon.
func cutFraction(text string) (rest string, part time.Duration, found bool) {
	at := strings.LastIndexAny(text, ".,")
	if at < 0 && strings.Count(text, ":") == 3 {
		at = strings.LastIndexByte(text, ':')
	}
	if at < 0 {
		return text, 0, false
	}
	unit := time.Second
	for i := at + 1; i < len(text); i++ {
		if !isDigit(text[i]) {
			return text, 0, false
		}
		unit /= 10 // 0 after nine digits: finer than a nanosecond
		part += time.Duration(text[i]-'0') * unit
	}
	return text[:at], part, at+1 < len(text)
}

// digits reads a number of at most so many digits and nothing else.
func digits(s string, most int) (n int, ok bool) {
	if s == "" || len(s) > most {
		return 0, false
	}
	for i := range len(s) {
		if !isDigit(s[i]) {
			return 0, false
		}
		n = 10*n + int(s[i]-'0')
	}
	return n, true
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }
