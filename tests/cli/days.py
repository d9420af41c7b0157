"""Days at the shop, as somebody types them; each starts from the short lines' book.

A line that is indented goes on with the one before.
"""

from __future__ import annotations


def _lines(text: str) -> tuple[str, ...]:
    """Join what goes on with the line before it."""
    return tuple(text.strip().replace("\n    ", " ").splitlines())


BENCH = _lines("""
recondition product add CUT "Cut 3, 500 ml" compound ml --density-g-ml 1.08 --container-size
    "500 ml" --sheet-dated 2030-05-01 --reorder-at "600 ml"
recondition product add APC "Bench cleaner" cleaner ml --dilution-on-the-label "1:10"
    --parts-of-product 1 --parts-of-water 10
recondition product show CUT
recondition product add PAD "Foam 150" "foam pad" use --expected-uses 8
recondition product add DISC "P2500 disc" disc piece
recondition product add OIL "Oil polish" polish ml --container-size "250 ml" --shelf-life-open
    "30 days"
recondition stock receive CUT "2 pieces" 44 --freight 3.10 --batch-number LOT-77 --received-on
    2026-01-10
recondition stock receive APC "5 l" 38.50 --received-on 2026-01-10
recondition stock receive PAD "4 pieces" 39.20 --received-on 2026-01-10
recondition stock receive DISC "50 pieces" 21.60 --received-on 2026-01-10
recondition stock receive OIL "2 pieces" 31 --received-on 2026-01-10
recondition stock container K-07 CUT --batch RC-002 --tare 120.4 --weighed-with "flip cap"
recondition stock container K-08 OIL --opened-on 2026-01-12
recondition stock container PAD-1 PAD
recondition stock mix APC 70 700 --mixed-on 2026-02-02
recondition stock standard DISC polish "3 pieces"
recondition clock start 0007 "compound, bonnet" --findings F-001 --panel bonnet --operation
    polish --at 2026-02-02T08:00+00:00
recondition use weigh K-07 742.6 701.9
recondition use spray X-001 400
recondition use spray X-001 370 --wasted --loss normal
recondition use level K-08 80 70
recondition use pump APC 6 4 --words cleaner
recondition use pour CUT 12 --container K-07
recondition use count PAD 3 --container PAD-1
recondition use standard DISC polish
recondition clock pause --at 2026-02-02T09:30+00:00
recondition clock show
recondition clock resume --at 2026-02-02T09:45+00:00
recondition clock stop --at 2026-02-02T10:35+00:00
recondition clock show
recondition clock start 0007 "wrong car" --findings F-001 --at 2026-02-02T10:40+00:00
recondition clock drop "meant the other car"
recondition use scrap PAD-1 "torn on the gutter"
recondition use weigh K-07 700 690 --vehicle 0008 --findings F-003 --words "compound"
recondition stock weigh-in CUT K-07=601.9 --why "one bottle was left out"
recondition stock count DISC "46 pieces" "one in the sweepings"
recondition stock freight CUT RC-002 5 "carriage billed later"
recondition stock return OIL RC-006 "250 ml" 15 "leaking cap"
recondition stock receive DISC "50 pieces" 22 --received-on 2026-02-03
recondition stock reverse RC-007 "entered twice"
recondition post reversal U-009 "weighed for the other car"
recondition mix --of APC --total 750ml
recondition post list
recondition check
""")

ORDERS = _lines("""
recondition order add 0007 part 'left stripe' --quoted 107 --ordered-on 2026-02-02 --promised-on
    2026-02-09 --surface-at-least '10 C' --surface-at-most '35 C' --dry-for 24h
recondition order add 0007 part 'right stripe' --quoted 107
recondition order placed OR-002 --on 2026-02-03
recondition order received OR-001 --on 2026-02-10
recondition order received OR-002 --on 2026-02-10
recondition order returned OR-002 --on 2026-02-11
recondition order add 0007 sublet 'wheels refinished' --quoted 840 --ordered-on 2026-02-04
recondition order received OR-003 --on 2026-02-16
recondition post part 0007 'left stripe' 107 reproduction 'stripe torn while being fitted'
    --findings F-002 --order OR-001 --work-date 2026-02-12 --part-state spoiled
recondition order add 0007 part 'left stripe' --quoted 120 --ordered-on 2026-02-12 --received-on
    2026-02-13 --surface-at-least '10 C'
recondition post part 0007 'left stripe' 107 reproduction 'stripe fitted' --findings F-002
    --order OR-004 --work-date 2026-02-13 --surface '8 C' --outside-because 'bay heater failed'
    --removed-part-kept 'sleeve in the history file' --replaces-part 'faded left stripe'
recondition post sublet 0007 876 'wheels refinished' --findings F-001 --order OR-003 --work-date
    2026-02-16
recondition post labour 0007 1.5 'wheels packed and refitted' --findings F-001 --order OR-003
    --work-date 2026-02-16
recondition post labour 0007 0.75 'bonnet polished again, trails' --findings F-001 --operation
    polish --does-again L-001 --cause method --who-pays shop
recondition order list 0007
recondition order parts 0007
recondition report rework
recondition report operations
recondition check
""")

OWNER = _lines("""
recondition book set 'shared supplies' '6% of labour, at most 45'
recondition book set 'minimum charge' 400
recondition owner ask 0008 C-003 250 'the roof is duller than it looked' --limit-asked-for 600
recondition owner approve 0008 C-003 250 message OW --limit 600 --answers CR-001
recondition owner limit 0008
recondition owner quote 0008 --into quote.html
recondition post labour 0008 2 'roof polished' --findings F-003 --candidate C-003
recondition owner supplies 0008
recondition owner supplies 0008
recondition owner minimum 0008
recondition owner minimum 0008
recondition owner invoice 0008 --into preview.html --preview
recondition owner invoice 0008 --into invoice.html
recondition post reversal L-003 'billed at the wrong rate'
recondition owner invoice 0008 --into credit.html
recondition owner limit 0008
recondition check
""")

RATES = _lines("""
recondition person rate OW 2026-01-01 --wage 24 --on-cost-percent 22 --paid-hours 1760
    --productive-hours 1250 --overhead 38.77 --profit 15
recondition person list
""")

TYPED = """\
# what stood on the inspection sheet
lamp = spot lamp, room dark
gauge = G1
day = 2026-02-01
step = after wash
bonnet: holograms; 2; 30 %; front half
lfd: scratch; 3; 40 mm; lower edge; nail catches
2 film 101 104 99 103 108; centre
roof: gloss60 71 73 72; centre
floor: -; covered by wax
"""

ACID = """\
SECTION 2: Hazard(s) identification
H290 May be corrosive to metals. H314 Causes severe burns.
SECTION 3: Composition
phosphoric acid 7664-38-2  10-15 %
SECTION 9: Physical and chemical properties
d) pH (10 g/l): 1.4
m) relative density: 1.05
"""

CONDITION = _lines("""
recondition book set 'film floor' 80
recondition vehicle add 0007 "1967 Dunmarch Warden estate" --body-style "two-door estate"
recondition film instrument G1 "pocket film gauge" "magnetic and eddy current" 2.5
recondition panel add 0007 roof --made-of plastic
recondition finding add 0007 rrq "wash swirls" --severity 2 --extent "40 %" --material "clear coat"
    --lamp "spot lamp" --distance "300 mm" --step wash --before-or-after after
    --new-since-arrival no
recondition finding words leather
recondition film add 0007 bonnet "90 91 92 93 94" --instrument G1 --place centre --zero 0 --foil 102
    --foil-read 101 --step "first pass" --before-or-after before --read-on 2026-02-01
recondition post labour 0007 1 "first pass" --findings F-001 --panel bonnet --operation polish
    --film-it-takes 5 --work-date 2026-02-02
recondition film add 0007 bonnet "84 86 87 88 89" --instrument G1 --place centre --step "first pass"
    --before-or-after after --read-on 2026-02-02
recondition film add 0007 "l f wing" "4.1 4.3 4.2" --unit mil --instrument G1
recondition film show 0007
recondition film show 0007 --range 3.2/4.8mil
recondition film sampling "12500 ft2" --range 8/12mil
recondition candidate add 0007 "second pass" --hours 1/2/3 --uplift 100/200/300 --panels bonnet
    --film-it-takes 4
recondition plan 0007 --on 2031-03-03
recondition post labour 0007 1 "second pass" --findings F-001 --panel bonnet --operation polish
    --film-it-takes 4 --work-date 2026-02-03 --override-because "owner signed for it, 3 February"
recondition rules check 0007
recondition post list 0007
recondition gloss add 0007 bonnet "71.4 73 72.6" GU60 --place centre
recondition gloss list 0007
recondition water drops 0007 bonnet "1.2x3.0; 1.2x3.4" yes --step wash --before-or-after after
recondition water hardness yard --calcium 40 --magnesium 12
recondition water hardness tap --strip "10 gpg"
recondition water list 0007
recondition test add 0007 bonnet "lead swab" negative --place "under the edge"
recondition test list 0007
recondition ladder P800 P2500
recondition ladder P1000 P5000 --through P2000,P3000,P4000
recondition ladder P1000 P2500 --takes 0.4,0.2 --have P1500,P2000 --on 0007 "l f wing"
recondition product add ACID "Wheel bright" "acid wheel cleaner" ml --ph 1.5 --hazard-statements
    H314
recondition product sheet ACID acid.txt --sheet-dated 2025-11-03
recondition product show ACID
recondition caution 0007 "left front wheel" clean --product ACID
recondition caution 0007 "l f wing" "dry sand"
recondition rules add "mask first" "sand; polish" "needs before it" mask
    "edges burn through first" --where "same panel"
recondition rules list
recondition custody take 0007 "spare key, tag 7" key "driver's hand" "key cabinet, hook 7"
    --when 2026-02-01T09:42+00:00
recondition custody take 0007 "powder in a bag" "unknown substance" "under the mat" "left there"
    --when 2026-02-01T10:00+00:00
recondition custody move 0007 CU-001 "MR, for the yard" "brakes checked"
    --when 2026-02-02T08:30+00:00
recondition custody where "spare key"
recondition custody list 0007
recondition document photos 0007 photos --zone +00:00 --camera-ahead "3 min" --panel bonnet
recondition document photos 0007 photos --zone +00:00 --camera-ahead "3 min" --panel bonnet
recondition document add 0007 photos/after.jpg photograph "bonnet, after" --panel bonnet
    --taken-at 2026-02-02T17:00+00:00 --before D-003
recondition inspect sheet 0007 --html sheet.html --pdf sheet.pdf
recondition inspect enter 0007 typed.txt
recondition finding end 0007 F-001 resolved --severity-after 0
recondition report arrival 0007
recondition report condition 0007
recondition report changes 0007
recondition report changes 0007 --html changes.html --pdf changes.pdf
recondition check
""")

DECISION = _lines("""
recondition book set "shop hours" "08:00 to 16:00"
recondition book set bays 1
recondition person add TB "Tove Brandt" detailer --skills leather --hours-a-day 6
recondition person add KL "Kurt Lind" preparer --hours-a-day 8
recondition vehicle add 0011 "1966 Tavorel Lisse coupe"
recondition finding add 0011 bonnet "wash swirls" --severity 2 --ref F-9
recondition terms set 0011 hammer 20000/22000/25000 40 --ref T-9 --sellers-commission 8%
    --work-from 2031-03-03 --cut-off 2031-03-07 --cut-off-time 12:00 --holding-cost-per-day 14
    --days-to-the-next-sale 40 --next-sale-fee 150 --loss-limit 500 --ask-above 900
recondition candidate add 0011 "wash and one-step polish" --ref P1 --hours 6/8/11 --cash 30/40/60
    --uplift 800/1400/2200 --chance-of-success 95% --estimated-by MR
recondition candidate add 0011 "coat the paint" --ref P2 --hours 3/4/6 --cash 80/100/130
    --uplift 300/600/1000 --requires P1 --cure-hours 24
recondition candidate add 0011 "feed the seats" --ref P3 --hours 2/3/4 --cash 15/20/30
    --uplift 100/260/400 --skills leather
recondition candidate add 0011 "replate the bumpers" --ref P4 --hours 2/3/4 --cash 900/1100/1400
    --uplift 1500/2500/3600 --delivery-hours 24 --irreversible yes --excludes P3
recondition candidate add 0011 photographs --ref P5 --hours 2/3/4 --uplift 300/500/800
    --after-all-other-work yes
recondition candidate add 0011 "dye the carpets" --ref P6 --hours 2/3/5 --cash 20/30/50
    --uplift -200/100/300 --delivery-hours 300
recondition trial add 0011 "hidden test panel" 55% --ref X-1 --decides P1
    --uplift-if-well 1200/1800/2600 --uplift-if-badly -900/-500/-100 --hours 6/8/11
    --cash 30/40/60 --test-hours 1 --test-cash 5
recondition trial list 0011
recondition plan 0011
recondition plan 0011 --on 2031-03-05 --seed 7
recondition decide 0011 --note "agreed with the dealer on the telephone"
recondition post labour 0011 14 "polish, much slower than thought" --findings F-9
    --candidate P1 --work-date 2026-03-03
recondition candidate add 0011 "wash and one-step polish" --ref P1 --hours 6/8/11 --cash 30/40/60
    --uplift 800/1400/2200 --chance-of-success 95% --estimated-by MR --state started
recondition post labour 0011 1 "polish, still at it" --findings F-9 --candidate P1
    --work-date 2026-03-04
recondition sale add 0011 24350 --sold-on 2031-03-20 --ref Y-1
recondition sale list
recondition report track-record
recondition plan 0011 --corrected --on 2031-03-03
recondition comparables add 0011 "like one" --price 21000 --sold-on 2030-01-02 --features km=80000
recondition comparables add 0011 "like one" --price 22500 --sold-on 2030-02-02 --features km=61000
recondition comparables add 0011 "like one" --price 20100 --sold-on 2030-03-02 --features km=95000
recondition comparables add 0011 "like one" --price 23900 --sold-on 2030-04-02 --features km=42000
recondition comparables add 0011 "like one" --price 21900 --sold-on 2030-05-02 --features km=70000
recondition comparables add 0011 "like one" --price 24100 --sold-on 2030-06-02 --features km=40000
recondition comparables add 0011 "this one" --row-is "this vehicle" --features km=55000
recondition comparables add 0011 "this one, catalogue" --row-is "organiser's estimate"
    --estimate-low 18000 --estimate-high 21000
recondition comparables list 0011
recondition comparables estimate 0011 --terms km --base-year 2030
recondition terms set 0007 hammer 20000/25000/30000 41 --ref T-001 --work-from 2031-03-03
    --cut-off 2031-03-07
recondition plan 0007 0011 --cash 400
""")

BOOKS = _lines("""
recondition book create --currency USD --person HK --name "Hana Kess"
recondition person rate HK 2031-01-01 38.75 --charge-out-rate 95
recondition supplier add SEL "Seller abroad"
recondition supplier add FW "Hallmark Forwarding"
recondition tax add ST 8.25% 0% "the state's table, read 2031-01-02" --from 2031-01-01 --charged-on
    "part; consumable; charge"
recondition tax add IN 20% 100% "the tax office's page, read 2031-01-02" --from 2031-01-01
recondition tax list
recondition account set bank 1001 "House bank" --from 2031-01-01
recondition account set "inventory: purchase" 1411 "Cars bought" --from 2031-04-01
recondition vehicle add X-17 "1961 Corvane Tessera" --imported yes --chassis-number-as-stamped 0417
recondition vehicle add X-18 "1964 Corvane Altair"
recondition invoice add SEL 88 "58000 EUR @ 1.0835" --rate-source "day rate" --invoice-day
    2031-03-04 --owed-to "seller of a vehicle"
recondition post charge X-17 "58000 EUR @ 1.0835" bought --rate-source "day rate" --paid-for
    purchase --supplier SEL --invoice-number 88 --work-date 2031-03-04
recondition post charge X-18 30000 "bought privately" --paid-for purchase --work-date 2031-03-05
recondition payment add "58000 EUR @ 1.0912" --rate-source bank --supplier-invoice SI-001
    --paid-on 2031-03-18
recondition invoice add FW 71 4850.01 --invoice-day 2031-03-20
recondition invoice add FW 72 4850.01 --invoice-day 2031-03-21
recondition invoice share "X-17; X-18" value 4850.01 "sea freight" "one container" --supplier FW
    --invoice-number 71 --work-date 2031-03-20
recondition post charge X-17 "33.33 EUR @ 1.0912" "papers" --rate-source "day rate" --paid-for
    "export papers" --work-date 2031-03-21
recondition post sublet X-18 3000 "mechanical work" --no-finding-because "whole vehicle"
    --tax-code IN --work-date 2031-03-22
recondition order add X-18 sublet "wheels refinished" --quoted 780 --received-on 2031-03-30
recondition person paid HK 2031-03-03 40
recondition invoice list
recondition payment list
recondition period close 2031-03 "month end"
recondition post charge X-17 95 "storage at the port, bill came late" --paid-for "storage abroad"
    --work-date 2031-03-12
recondition post labour X-17 3 "washed" --no-finding-because "whole vehicle" --work-date
    2031-04-02 --person HK
recondition value add X-17 66000 500 900 "two dealers asked" --tested-on 2031-04-30
recondition value list
recondition sale add X-18 42000 --sold-on 2031-04-20 --taxed "margin scheme" --tax-code IN
    --sales-invoice 501 --buyer "J. Ostrel, 4 Mill Lane"
recondition sale add X-17 --result unsold --sale-fees 350 --sold-on 2031-04-26
recondition payment add 42000 --way received --sale Y-001 --paid-on 2031-04-25
recondition sale list
recondition period list
recondition period close 2031-04
recondition period reopen 2031-04 "the bank's fee was missing"
recondition post undo Y-002 "entered for the other car" --on 2031-04-30
recondition books journal
recondition books accounts
recondition books inventory
recondition books inventory --period 2031-03
recondition books profit
recondition books landed X-17 X-18
recondition books invoices
recondition books tax --period 2031-04
recondition books stock-book
recondition books hours --period 2031-03
recondition books late
recondition books ties --period 2031-03
recondition books settlement X-18
recondition book set "interest a year" 8%
recondition book set "storage a day" 6
recondition book set "insurance a year" 1.2%
recondition books week X-17
recondition books position X-17 --hammer 70000 --hammer 80000
recondition account list
recondition export workbook books.xlsx
recondition export lines lines.csv --period 2031-03
recondition post charge X-17 10 "stamps" --paid-for "export papers" --work-date 2031-04-03
recondition export lines lines.csv --period 2031-03
recondition export lines april.csv --period 2031-04 --vehicle X-17
recondition export journal journal.csv
recondition export columns journal map.csv
""")
