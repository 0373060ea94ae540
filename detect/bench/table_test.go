package bench

import (
	"flag"
	"fmt"
	"os"
	"testing"
)

var (
	table = flag.Bool("table", false, "print the table of figures")
	first = flag.Uint64("seed", 1000, "first seed (tuning seeds are 1000–1999, measuring seeds 500000 and up)")
	count = flag.Int("drives", 12, "drives of each kind")
	shows = flag.Int("show", 0, "misses and false alarms to list")
	rates = []float64{3, 5, 10, 20}
)

func TestTable(t *testing.T) {
	if !*table {
		t.Skip("prints the table with -table")
	}
	for _, rate := range rates {
		var f Figures
		for i := range *count {
			for k := range 3 {
				f.Add(Formula(*first+uint64(i*100+k), Bursts, 600, 0).Read(rate))
			}
			for k, kind := range LookAlikes {
				f.Add(Formula(*first+uint64(i*100+20+k), kind, 600, 0).Read(rate))
			}
		}
		f.Print(os.Stdout, rate)
		on := [2]Count{}
		for i := range 2 * *count {
			for k, swing := range []float64{100, 60} {
				d := Formula(*first+uint64(i*100+50+k), AlwaysOn, 420, swing).Read(rate)
				var g Figures
				if len(g.Add(d)) > 0 {
					on[k].Hit++
				}
				on[k].Of++
			}
		}
		fmt.Printf("        always on 100: %v 60: %v\n", on[0], on[1])
		for i := 0; i < *shows && i < len(f.Missed); i++ {
			fmt.Println("        missed", f.Missed[i])
		}
		for i := 0; i < *shows && i < len(f.FalseAt); i++ {
			fmt.Println("        false", f.FalseAt[i])
		}
	}
}
