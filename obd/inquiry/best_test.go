package inquiry

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/obdtest"
)

// inquireBad puts questions to a car behind an adapter of few words.
func inquireBad(t *testing.T, b *obdtest.BadAdapter, ask func(*Inquiry) error) {
	t.Helper()
	onBad(t, b, func(t *testing.T, cfg adapter.Config) {
		if err := Run(t.Context(), cfg, &obdtest.Journal{}, 30*time.Second, ask); err != nil {
			t.Error(err)
		}
	})
}

// outcomes are what came of a question, an ECU a word.
func outcomes(answers []Answer) string {
	words := make([]string, len(answers))
	for i, a := range answers {
		words[i] = strings.TrimSpace(a.ECU + " " + a.Outcome.String())
	}
	return strings.Join(words, ", ")
}

// What one ECU said whole is kept while another is asked again; an ECU that was not
// among those known, and of which only parts come, is not forgotten. Layouts: SAE J1979.
func TestInquiry_AskAllKeepsTally(t *testing.T) {
	const other, part, waits, busy = "7EA0443010741", "7EA04430107", "7EA037F0378", "7EA037F0321"
	for name, c := range map[string]struct {
		tries [][]string // the last one for ever
		want  string
		asked int
	}{
		"part, for ever":          {[][]string{{"7E8024300", part}}, "7E8 answered, damaged", 3},
		"part, then whole":        {[][]string{{"7E8024300", part}, {part, other}}, "7E8 answered, 7EA answered", 2},
		"part, then silent":       {[][]string{{"7E8024300", part}, {"7E8024300"}}, "7E8 answered, damaged", 3},
		"noise once":              {[][]string{{"7E8024300", "7#"}, {"7E8024300"}}, "7E8 answered", 2},
		"header lost":             {[][]string{{"7E8024300", other[1:]}, {"7E8024300", other}}, "7E8 answered, 7EA answered", 2},
		"noise for ever":          {[][]string{{"7E8024300", "7#"}}, "7E8 answered, damaged", 3},
		"buffer full":             {[][]string{{"7E8024300", "BUFFER FULL"}, {"7E8024300", other}}, "7E8 answered, 7EA answered", 2},
		"one waits, then answers": {[][]string{{"7E8024300", waits}, {"7E8024300", other}}, "7E8 answered, 7EA answered", 2},
		"one waits, then none":    {[][]string{{"7E8024300", waits}, {"7E8024300"}}, "7E8 answered, 7EA still pending", -1},
		"one is busy":             {[][]string{{"7E8024300", busy}, {other}}, "7E8 answered, 7EA answered", 2},
		"answered twice":          {[][]string{{"7E8024300", "7E8024300"}}, "7E8 answered", 1},
		"refused by one":          {[][]string{{"7E8024300", "7EA037F0311"}}, "7E8 answered, 7EA refused", 1},
		"nobody":                  {[][]string{{"NO DATA"}}, "silent", 3}, // at its own address, too, and there once more
	} {
		asked := 0
		b := &obdtest.BadAdapter{}
		b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			if request != "03" {
				return []string{b.Engine("7E8", request)}, true
			}
			lines := c.tries[min(asked, len(c.tries)-1)]
			asked++
			return lines, true
		}
		inquireBad(t, b, func(q *Inquiry) error {
			answers, err := q.AskAll("03")
			if got := outcomes(answers); got != c.want || c.asked >= 0 && asked != c.asked {
				t.Errorf("%s: %s, asked %d times; want %s, %d", name, got, asked, c.want, c.asked)
			}
			return err
		})
	}
}

// An ECU that says "wait" for ever costs its half minute once, not at every question.
func TestInquiry_WaitsForEver(t *testing.T) {
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if request == "0100" || request == "010C0D" {
			return []string{b.Engine("7E8", request)}, true
		}
		return []string{"7E8037F" + request[:2] + "78"}, true
	}
	inquireBad(t, b, func(q *Inquiry) error {
		start := q.conn.Now()
		for range 6 {
			if answers, err := q.AskAll("03"); err != nil || outcomes(answers) != "7E8 still pending" {
				return fmt.Errorf("%s, %w", outcomes(answers), err)
			}
		}
		if took := q.conn.Now() - start; took > 60*time.Second || took < pendingMost {
			t.Errorf("six questions took %v", took)
		}
		return nil
	})
}

// An adapter that starts again while it is set to ask somebody, with a word or without, does not
// make a module that is there a silent one.
func TestInquiry_ResetWhileTurning(t *testing.T) {
	m, err := obd.ParseModule("760")
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []string{"ATSH760", "ATCRA768", "ATAT0", "ATFCSH760", "ATFCSM1", "1902"} {
		for _, loud := range []bool{true, false} {
			struck := false
			b := &obdtest.BadAdapter{}
			b.Strike = func(command string) (lines []string) {
				if struck || !strings.HasPrefix(command, at) {
					return nil
				}
				struck, b.Bare, b.Header, b.Filter = true, true, "7DF", ""
				if loud {
					return []string{"ELM327 v1.5"}
				}
				return []string{map[bool]string{true: "OK", false: "NO DATA"}[strings.HasPrefix(command, "AT")]}
			}
			b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
				switch {
				case b.Header == "760" && request == "1902":
					return []string{"7680759022F07410028"}, true
				case request == "0100" || request == "010C0D":
					return []string{b.Engine("7E8", request)}, true
				}
				return []string{"NO DATA"}, true
			}
			inquireBad(t, b, func(q *Inquiry) error {
				a, err := q.AskOne(m, "1902")
				if got := outcomes([]Answer{a}); got != "768 answered" || !struck {
					t.Errorf("reset at %s, in words %v: %s", at, loud, got)
				}
				return err
			})
		}
	}
}

// A word to the adapter that was lost, or an answer that came too late or not at all, does not
// make a module that is there a silent one.
func TestInquiry_LostWordOrAnswer(t *testing.T) {
	m, err := obd.ParseModule("760")
	if err != nil {
		t.Fatal(err)
	}
	const reply = "7680759022F07410028"
	for _, c := range []struct {
		at, how string
		lines   []string
		late    string
		effect  bool // the word takes effect
	}{
		{"ATSH760", "OK without effect", []string{"OK"}, "", false},
		{"ATSH760", "neither answer nor effect", nil, "", false},
		{"ATSH760", "no answer", nil, "", true},
		{"ATCRA768", "OK without effect", []string{"OK"}, "", false},
		{"1902", "lost", []string{"NO DATA"}, "", false},
		{"1902", "late", []string{"NO DATA"}, reply, false},
	} {
		struck, b := false, &obdtest.BadAdapter{}
		b.Strike = func(command string) []string {
			if struck || command != c.at {
				return nil
			}
			if struck = true; c.effect {
				b.Header = "760"
			}
			if c.late != "" {
				b.Later(60*time.Millisecond, c.late)
			}
			if c.lines == nil {
				return []string{}
			}
			return c.lines
		}
		b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			switch {
			case b.Header == "760" && request == "1902":
				return []string{reply}, true
			case b.Header == "7DF":
				return []string{b.Engine("7E8", request)}, true
			}
			return []string{"NO DATA"}, true
		}
		inquireBad(t, b, func(q *Inquiry) error {
			a, err := q.AskOne(m, "1902")
			if got := outcomes([]Answer{a}); got != "768 answered" || !struck {
				t.Errorf("%s, %s: %s", c.at, c.how, got)
			}
			return err
		})
	}
}

// An adapter that does not obey addresses gets another ECU's answer: that
// is said, and no silence.
func TestInquiry_Misdirected(t *testing.T) {
	m, err := obd.ParseModule("760")
	if err != nil {
		t.Fatal(err)
	}
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if request == "1902" {
			return []string{"7E8037F1911"}, true
		}
		return []string{b.Engine("7E8", request)}, true
	}
	inquireBad(t, b, func(q *Inquiry) error {
		a, err := q.AskOne(m, "1902")
		if a.Outcome != Misdirected {
			t.Errorf("%v", a.Outcome)
		}
		return err
	})
}

// Clearing is confirmed when every ECU that is known confirms it; a "wait" may be followed
// by an answer behind the prompt. The request goes out once.
func TestInquiry_ClearConfirmed(t *testing.T) {
	const ok, other, waits = "7E80144", "7E90144", "7E8037F0478"
	for name, c := range map[string]struct {
		lines   []string
		late    string
		cleared string
		others  string // what the others made of it
		err     error
	}{
		"both":                {[]string{ok, other}, "", "", "", nil},
		"one":                 {[]string{ok}, "", "7E8", "7E9 silent", nil},
		"nobody":              {[]string{"NO DATA"}, "", "", "", ErrNotCleared},
		"one waits":           {[]string{waits, other}, "", "7E9", "7E8 still pending", nil},
		"one waits, confirms": {[]string{waits, other}, ok, "", "", nil},
		"one waits, refuses":  {[]string{waits, other}, "7E8037F0422", "7E9", "7E8 refused", nil},
	} {
		sent := 0
		b := &obdtest.BadAdapter{}
		b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			switch request {
			case "04":
				if sent++; c.late != "" {
					b.Later(1800*time.Millisecond, c.late)
				}
				return c.lines, true
			case "010C":
				return []string{"7E804410C0000", "7E904410C0000"}, true
			}
			return []string{b.Engine("7E8", request), b.Engine("7E9", request)}, true
		}
		inquireBad(t, b, func(q *Inquiry) error {
			_, err := q.Clear(ClearWord)
			cleared, others := clearing(err)
			if sent != 1 || cleared != c.cleared || others != c.others || c.err != nil && !errors.Is(err, c.err) || (err == nil) != (c.err == nil && c.others == "") {
				t.Errorf("%s: sent %d times, %v", name, sent, err)
			}
			return nil
		})
	}
}

// clearing is what a ClearError reports: who cleared, and what the others made of it.
func clearing(err error) (cleared, others string) {
	var e *ClearError
	if !errors.As(err, &e) {
		return "", ""
	}
	return strings.Join(e.Cleared, " "), outcomes(e.Others)
}
