package casefile_test

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/judder-obd/judder/casefile"
)

// A case is a folder; what it holds can be read again.
func ExampleNew() {
	tmp, err := os.MkdirTemp("", "case")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() { _ = os.RemoveAll(tmp) }()
	bill := filepath.Join(tmp, "bill 7.txt")
	if err := os.WriteFile(bill, []byte("420 EUR"), 0o600); err != nil {
		fmt.Println(err)
		return
	}
	f, err := casefile.New(filepath.Join(tmp, "car"), &casefile.Case{Complaint: casefile.Complaint{Words: "hums", Speed: "60-70 km/h", Load: "uphill"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() { _ = f.Close() }()
	row, _, err := f.Add(bill, casefile.Adding{Now: time.Now()})
	if err != nil {
		fmt.Println(err)
		return
	}
	box, unread := f.Case.Complaint.Box()
	fmt.Println(row.Name, row.Stage)
	fmt.Println(box, unread)
	fmt.Println(f.Case.Next().Do)
	// Output:
	// papers/bill-7.txt before
	// 60-70 km/h [uphill]
	// Fill the fluid that the maker names, and exchange all of it: converter, cooler and lines too.
}
