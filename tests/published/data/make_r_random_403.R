# Writes r_random_403.csv: the two generated samples of NIST/SEMATECH e-Handbook 1.3.5.14 (Anderson-Darling test).
#
#     Rscript make_r_random_403.R > r_random_403.csv
set.seed(403); normal <- rnorm(1000)
set.seed(403); double_exponential <- rexp(1000) - rexp(1000)
cat("normal,double_exponential\n")
cat(sprintf("%.17g,%.17g\n", normal, double_exponential), sep = "")
