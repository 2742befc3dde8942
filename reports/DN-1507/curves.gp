# Draws curves.dat: "gnuplot curves.gp" leaves curves.pdf
set terminal pdfcairo noenhanced size 18cm,12cm font 'DejaVu Sans,7.5'
set output 'curves.pdf'
data = 'curves.dat'
set encoding utf8
set datafile separator "\t"
set key outside above horizontal left Left reverse samplen 2 spacing 0.9 width -1 noenhanced
set grid linecolor '#E4E4E4' linewidth 0.6 dashtype 1
set border 3 linewidth 0.8
set tics nomirror out scale 0.5
set lmargin 7
set rmargin 1.5
set multiplot
set origin 0.0000,0.0000
set size 0.52000,1.0000
set xrange [0.000000:463.6266]
set xlabel 'Flow Q, L/min' noenhanced offset 0,0.4
set xtics 100.0000
set yrange [0.000000:93.02453]
set ylabel 'Head H, m' noenhanced offset 1,0
set ytics 20.00000
unset label
plot NaN notitle, \
    data index 0 using 1:2:3 with filledcurves fillstyle solid noborder fillcolor '#D9D9D9' title '95 % band', \
    data index 1 using 1:2 with lines linewidth 1.0000 linecolor '#000000' dashtype (16,6) title 'duty line', \
    data index 2 using 1:2 with lines linewidth 1.5000 linecolor '#0072B2' dashtype 1 title 'fitted', \
    data index 3 using 1:2 with points pointtype 7 pointsize 0.55000 linewidth 1 linecolor '#0072B2' title 'measured', \
    data index 4 using 1:2 with lines linewidth 2.0000 linecolor '#000000' dashtype 1 title 'guarantee, tolerance'
set origin 0.52000,0.66667
set size 0.48000,0.33333
set xrange [0.000000:463.6266]
set xlabel '' noenhanced offset 0,0.4
set xtics 100.0000
set yrange [0.000000:75.24834]
set ylabel 'Efficiency η, %' noenhanced offset 1,0
set ytics 50.00000
unset label
plot NaN notitle, \
    data index 5 using 1:2 with lines linewidth 1.5000 linecolor '#009E73' dashtype (12,4) title 'set', \
    data index 6 using 1:2 with lines linewidth 1.5000 linecolor '#0072B2' dashtype 1 title 'pump', \
    data index 7 using 1:2 with points pointtype 4 pointsize 0.55000 linewidth 1 linecolor '#009E73' notitle, \
    data index 8 using 1:2 with points pointtype 7 pointsize 0.55000 linewidth 1 linecolor '#0072B2' notitle, \
    data index 9 using 1:2 with lines linewidth 2.0000 linecolor '#000000' dashtype 1 notitle
set origin 0.52000,0.33333
set size 0.48000,0.33333
set xrange [0.000000:463.6266]
set xlabel '' noenhanced offset 0,0.4
set xtics 100.0000
set yrange [0.000000:7.522820]
set ylabel 'Input power P₁, kW' noenhanced offset 1,0
set ytics 5.000000
unset label
plot NaN notitle, \
    data index 10 using 1:2:3 with filledcurves fillstyle solid noborder fillcolor '#D9D9D9' notitle, \
    data index 11 using 1:2 with lines linewidth 1.0000 linecolor '#000000' dashtype (16,6) title 'limit', \
    data index 12 using 1:2 with lines linewidth 1.5000 linecolor '#D55E00' dashtype (12,4,2,4) notitle, \
    data index 13 using 1:2 with points pointtype 8 pointsize 0.55000 linewidth 1 linecolor '#D55E00' notitle
set origin 0.52000,0.0000
set size 0.48000,0.33333
set xrange [0.000000:463.6266]
set xlabel 'Flow Q, L/min' noenhanced offset 0,0.4
set xtics 100.0000
set yrange [0.000000:13.03800]
set ylabel 'Current I, A' noenhanced offset 1,0
set ytics 5.000000
unset label
plot NaN notitle, \
    data index 14 using 1:2 with lines linewidth 1.0000 linecolor '#000000' dashtype (16,6) notitle, \
    data index 15 using 1:2 with lines linewidth 1.5000 linecolor '#0072B2' dashtype 1 notitle, \
    data index 16 using 1:2 with points pointtype 7 pointsize 0.55000 linewidth 1 linecolor '#0072B2' notitle
unset multiplot
unset output
