# Percentile bootstrap of ratios by subject as R has it, one line each: set, ratio, figure, value.
# Usage: Rscript bootstrap.R fixtures/r/study-sets.csv > fixtures/r/bootstrap.csv
# Own draws of R: the program agrees within the error of both, of which sd and draws are given.
number <- function(value) trimws(formatC(as.numeric(value), digits = 12, format = "g"))
set.seed(20261128)
draws <- 20000
cat("#", R.version.string, draws, "draws\n")
cat("set,ratio,figure,value\n")
sets <- read.csv(commandArgs(TRUE)[1], comment.char = "#",
                 colClasses = c("character", "character", "character", "character", "numeric", "numeric"))
for (name in unique(sets$set[sets$kind == "contrast"])) {
  own <- sets[sets$set == name, ]
  pairs <- combn(unique(own$ensemble), 2, simplify = FALSE)
  for (pair in pairs) {
    a <- own[own$ensemble == pair[1], ]
    b <- own[own$ensemble == pair[2], ]
    common <- intersect(a$subject, b$subject)
    drawn <- if (length(common) > 0) {
      d <- log(b$value[match(common, b$subject)]) - log(a$value[match(common, a$subject)])
      replicate(draws, mean(sample(d, replace = TRUE)))
    } else {
      replicate(draws, mean(sample(log(b$value), replace = TRUE)) - mean(sample(log(a$value), replace = TRUE)))
    }
    tail <- 0.05 / (2 * length(pairs))
    ends <- quantile(drawn, c(tail, 1 - tail), names = FALSE)
    for (figure in c("low", "high", "sd")) {
      value <- switch(figure, low = ends[1], high = ends[2], sd = sd(drawn))
      cat(paste(name, paste(pair, collapse = " "), figure, number(value), sep = ","), "\n", sep = "")
    }
  }
}
