package bench

import (
	"flag"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
)

var (
	table  = flag.Bool("table", false, "print the table of figures")
	first  = flag.Uint64("seed", 1000, "first seed (tuning seeds are 1000–9999, measuring seeds 500000 and up)")
	count  = flag.Int("drives", 12, "drives of each kind")
	shows  = flag.Int("show", 0, "misses and false alarms to list")
	only   = flag.Float64("rate", 0, "only this rate")
	change = flag.String("change", "", "numbers of the detector's table changed, name=value,…; several variants parted by ;")
	rates  = []float64{3, 5, 10, 20}
)

func TestTable(t *testing.T) {
	if !*table {
		t.Skip("prints the table with -table")
	}
	for _, rate := range rates {
		if *only > 0 && rate != *only {
			continue
		}
		for _, v := range strings.Split(*change, ";") {
			if v != "" {
				fmt.Println("    ", v)
			}
			printRate(t, rate, parse(t, v))
		}
	}
}

func parse(t *testing.T, s string) map[string]float64 {
	m := map[string]float64{}
	for _, p := range strings.Split(s, ",") {
		if name, value, ok := strings.Cut(p, "="); ok {
			x, err := strconv.ParseFloat(value, 64)
			if err != nil {
				t.Fatal(err)
			}
			m[name] = x
		}
	}
	return m
}

func printRate(t *testing.T, rate float64, change map[string]float64) {
	f := Figures{Change: change}
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
			g := Figures{Change: change}
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
