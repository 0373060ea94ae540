package report

import "testing"

// The paper says of every mark what engine speed did then; friction is told where it was steady.
// The counts are invented.
func TestAnswer_Felt(t *testing.T) {
	for _, tt := range []struct {
		now  tally
		want string
	}{
		{tally{}, ""},
		{tally{felt: 2, seen: 2}, "The person in the car marked it 2 times: each time with shudder in engine speed."},
		{tally{felt: 2, feltDark: 2}, "The person in the car marked it 2 times: each time where judder could not have seen it."},
		{tally{felt: 1, steady: 1}, "The person in the car marked it once: with engine speed steady. " + friction},
		{tally{felt: 4, seen: 1, steady: 1, feltDark: 2}, "The person in the car marked it 4 times: once with shudder in engine speed, once with engine speed steady, 2 times where judder could not have seen it. " + friction},
	} {
		if got := (&Answer{now: tt.now}).Felt(); got != tt.want {
			t.Errorf("%+v:\n%s\nwant\n%s", tt.now, got, tt.want)
		}
	}
}
