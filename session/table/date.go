package table

import "time"

// dateForms are the forms that a date may have, in the order in which they are tried: ISO 8601 first.
// With slashes or bare hyphens day or month may come first; the dates of the file decide.
var dateForms = []string{
	"2006-01-02", "20060102", "2006/01/02", "2006.01.02",
	"2.1.2006", "2.1.06", "2/1/2006", "1/2/2006", "2/1/06", "1/2/06", "2-1-2006", "1-2-2006",
	"2-Jan-2006", "2-Jan-06", "2 Jan 2006", "Jan 2 2006", "Jan 2, 2006", "2 January 2006", "January 2, 2006",
	"Mon Jan 2 2006", "Mon, 2 Jan 2006",
}

// calendar numbers the days of a file from its first.
type calendar struct {
	forms []string // that fit all dates so far
	first map[string]time.Time
	last  string // the date as it was written last
	day   int
}

// longestGap is how many days may be between two readings of one file.
const longestGap = 11

// begin takes the first date; false where it has no form known here.
func (c *calendar) begin(date string) bool {
	c.first = map[string]time.Time{}
	for _, form := range dateForms {
		if t, err := time.Parse(form, date); err == nil {
			c.forms, c.first[form] = append(c.forms, form), t
		}
	}
	c.last = date
	return len(c.forms) > 0
}

// next gives the number of the day of a further date; false where no form fits it and all before it,
// or where it lies before the last or too long after it.
func (c *calendar) next(date string) (day int, ok bool) {
	if date == c.last {
		return c.day, true
	}
	var fit []string
	day = -1
	for _, form := range c.forms {
		t, err := time.Parse(form, date)
		if err != nil {
			continue
		}
		if n := int(t.Sub(c.first[form]).Hours() / 24); n >= c.day && n <= c.day+longestGap {
			fit = append(fit, form)
			if day < 0 {
				day = n
			}
		}
	}
	if len(fit) == 0 {
		return 0, false
	}
	c.forms, c.day, c.last = fit, day, date
	return day, true
}

// start is the first date; false where two forms disagree on it.
func (c *calendar) start() (time.Time, bool) {
	if len(c.forms) == 0 {
		return time.Time{}, false
	}
	first := c.first[c.forms[0]]
	for _, form := range c.forms[1:] {
		if !c.first[form].Equal(first) {
			return time.Time{}, false
		}
	}
	return first, true
}
